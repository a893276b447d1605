"""A progress bar with rate and time left, where tqdm is installed and someone watches."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import Any, Self


class Progress:
    """Counts designs; a bar if `show` is True, or None with stderr a terminal or a notebook."""

    def __init__(self, total: int, show: bool | None, done: int = 0) -> None:
        self._bar: Any = None
        self._start = done
        if show is None:
            show = sys.stderr is not None and sys.stderr.isatty() or "ipykernel" in sys.modules
        if not show:
            return
        try:
            import warnings

            with warnings.catch_warnings():
                # A notebook without widgets gets the text bar.
                warnings.simplefilter("ignore")
                from tqdm.auto import tqdm  # type: ignore[import-untyped]
        except ImportError:
            return
        self._bar = tqdm(total=total, initial=done, unit="design", unit_scale=True)

    @property
    def watch(self) -> Any:
        """What a run calls with the number of designs done since it began; None without a bar."""
        return None if self._bar is None else self._show

    def _show(self, done: int) -> None:
        self._bar.n = self._start + done
        self._bar.refresh()

    def add(self, designs: int) -> None:
        """So many more are done."""
        self._start += designs
        if self._bar is not None:
            self._show(0)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._bar is not None:
            self._bar.close()

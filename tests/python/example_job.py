"""The job of the template: it holds every key, so its study and report hold everything."""

from functools import lru_cache

import underfoot as uf
from underfoot import _core

TEXT = _core.job_template()


@lru_cache(maxsize=2)
def job(units="si"):
    return uf.Job.from_text(TEXT.replace('units = "si"', f'units = "{units}"'), "example.toml")


@lru_cache(maxsize=2)
def study(units="si"):
    return job(units).study()

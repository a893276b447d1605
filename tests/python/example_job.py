"""The job of the template: it holds every key, so its study and report hold everything."""

import re
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


LONG = "drive_train rotating blow decompression screw_blow floor_shock record slide break_through"


def without(text, names):
    """The job without those tables and what they hold."""
    first = "|".join(names.split())
    parts = re.split(r"(?m)^(?=\[)", text)
    return "".join(part for part in parts if not re.match(rf"\[+(?:{first})[\].]", part))


# What tests of commands and files take: they need a whole report, but not every event in it.
SHORT = without(TEXT, LONG + " options condition emergency_stop")


@lru_cache(maxsize=2)
def short_job(units="si"):
    return uf.Job.from_text(SHORT.replace('units = "si"', f'units = "{units}"'), "short.toml")


@lru_cache(maxsize=2)
def short_study(units="si"):
    return short_job(units).study()

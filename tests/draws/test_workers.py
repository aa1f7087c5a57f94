"""Draws are the same bytes in one process, in two spawned ones, and in any blocks."""

import hashlib
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np

from sitefare.appraisal import appraise_many, sampled_values
from sitefare.assumptions.case import make_case
from sitefare.assumptions.library import project_library
from sitefare.questions.uncertainty import uncertainty
from sitefare.sizing import plan_for

DRAWS, PART = 1024, 512


def planned():
    return plan_for(make_case(project_library(), "port_anui", "as_planned", ()))


def part(first):
    """Appraise one part of the draws, whose numbers follow those before."""
    plan = planned()
    return appraise_many(plan, sampled_values(plan, PART, 1, first=first))


def digest(found):
    made = hashlib.sha256()
    for name in sorted(found):
        made.update(name.encode() + np.ascontiguousarray(found[name]).tobytes())
    return made.hexdigest()


def test_two_spawned_processes_give_the_same_bytes_as_one():
    whole = uncertainty(planned(), DRAWS, 1).draws
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        halves = list(pool.map(part, (0, PART)))
    joined = {name: np.concatenate([half[name] for half in halves]) for name in halves[0]}
    assert digest({name: whole[name] for name in joined}) == digest(joined)

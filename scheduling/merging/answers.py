"""Several answers to one job."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from scheduling.merging.values import REASONS_BY_WEIGHT, Answer, Standing


def merge_answers(answers: Iterable[Answer], withdrawn: Collection[str] = ()) -> Standing:
    """How a job stands.

    A cut cannot be undone, so one "done" outweighs every "not done": the job is never planned twice. Among several
    "done" the earliest leads; among several "not done" the gravest reason. An answer somebody took back counts no
    more; the answers of others stay.

    Args:
        answers: everything said about the job, in any order, repetitions allowed.
        withdrawn: keys of answers taken back.
    """
    said = {answer.key: answer for answer in answers if answer.key not in set(withdrawn)}
    standing = sorted(said.values(), key=lambda answer: (answer.at, answer.key))
    done = [answer for answer in standing if answer.state == "done"]
    not_done = [answer for answer in standing if answer.state == "not_done"]
    lead = done[0] if done else min(not_done, key=_weight, default=None)
    flags = set()
    if done and not_done:
        flags.add("two_answers")
    if len({answer.by for answer in done}) > 1:
        flags.add("also_done")
    if not done and len({answer.reason for answer in not_done}) > 1:
        flags.add("two_reasons")
    notes = dict.fromkeys(answer.note.strip() for answer in standing if answer.note.strip())
    return Standing(lead=lead, note="\n".join(notes), flags=frozenset(flags))


def _weight(answer: Answer) -> tuple[int, object, str]:
    known = answer.reason in REASONS_BY_WEIGHT
    rank = REASONS_BY_WEIGHT.index(answer.reason) if known else len(REASONS_BY_WEIGHT)
    return rank, answer.at, answer.key

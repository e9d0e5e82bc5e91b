"""Remarks on what phones sent, in words; and which of them the office has to look at."""

from __future__ import annotations

from scheduling.merging import FLAGS

FLAG_WORDS = {
    **FLAGS,
    "clock_off": "the phone's clock was wrong; the time was set right",
    "clock_unchecked": "the phone's clock was never checked against ours",
    "from_the_future": "the phone said a time that had not come yet",
    "before_the_round": "the phone said a time before it had the round",
    "brought": "brought by somebody else's sign-in",
    "moved_away": "the visit was with another crew by then",
    "job_gone": "the job had been taken off the visit; kept as work on the tree",
    "after_call_off": "worked after the visit was called off",
    "after_finish": "came after the visit was finished",
    "no_undo": "taken back after the visit was finished; the answer stands",
    "not_yours": "somebody else's answer cannot be taken back",
    "unanswered": "finished by the crew, but a job has no answer",
    "waits_for_phone": "waits for what another phone still holds",
    "not_closed": "the visit could not be closed",
    "material_unpriced": "the price list does not know this material by this measure; it is not charged yet",
    "extra_work": "the client asked for more work",
    "account_closed": "made by somebody who may no longer sign in",
}
FOR_THE_OFFICE = frozenset(
    {
        "two_answers",
        "far_apart",
        "from_the_future",
        "before_the_round",
        "moved_away",
        "job_gone",
        "after_call_off",
        "after_finish",
        "no_undo",
        "not_yours",
        "unanswered",
        "not_closed",
        "extra_work",
        "material_unpriced",
        "account_closed",
    }
)


def is_for_the_office(flags: list[str]) -> bool:
    return bool(FOR_THE_OFFICE & set(flags))


def words_of(flags: list[str]) -> list[str]:
    return [FLAG_WORDS.get(flag, flag) for flag in flags]

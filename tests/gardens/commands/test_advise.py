"""The command advise: JSON, text, and refusals with exit status 2."""

from __future__ import annotations

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

ASK = {
    "species": "pear",
    "form": "horizontal_tiers",
    "planted": "2016-02-01",
    "date": "2026-08-01",
    "latitude": "52",
    "longitude": "-1",
}


def advise(*flags, **changes):
    out = StringIO()
    options = [f"--{name.replace('_', '-')}={value}" for name, value in {**ASK, **changes}.items() if value is not None]
    call_command("advise", *options, *flags, stdout=out)
    return out.getvalue()


def test_json_answer_has_the_stable_keys():
    told = json.loads(advise("--json", tiers="3", rootstock="Quince A", leader_cm="120"))

    assert {"stage", "stages", "due", "allowed", "forbidden", "forecast", "warnings"} <= set(told)
    assert set(told["forecast"]) == {"full_p10", "full_p50", "full_p90"}
    assert "summer_prune" in told["allowed"]
    assert all({"kind", "why", "source"} <= set(row) for row in told["forbidden"])
    assert all({"text", "source"} == set(row) for row in told["warnings"])


def test_text_answer_reads_as_a_list():
    text = advise()

    assert "pear_european as horizontal_tiers" in text
    assert "Allowed on this day:" in text


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"species": "peer"}, "known are"),
        ({"form": "trellis"}, "horizontal_tiers"),
        ({"planted": "2024-02-31"}, "write it as 2026-07-20"),
        ({"date": "yesterday"}, "is not a date"),
        ({"latitude": "152"}, "out of range"),
        ({"longitude": "east"}, "is not a number"),
        ({"tiers": "0"}, "give 1 to 12"),
        ({"leader_cm": "-3"}, "give 0 to 1200"),
        ({"profile": "alpine"}, "maritime"),
        ({"weather": "no-such-file.csv"}, "cannot be read"),
    ],
)
def test_wrong_question_exits_with_two_and_what_is_known(changes, said):
    with pytest.raises(CommandError) as refusal:
        advise(**changes)

    assert refusal.value.returncode == 2
    assert said in str(refusal.value)


def test_all_faults_of_a_question_come_together():
    with pytest.raises(CommandError) as refusal:
        advise(species="peer", form="trellis", latitude="152", planted="soon")

    assert len(str(refusal.value).splitlines()) == 4


def test_weather_of_the_year_moves_the_stages(tmp_path):
    lines = ["date,tmin,tmax"]
    from datetime import date, timedelta

    day = date(2025, 9, 1)
    while day <= date(2026, 7, 31):
        warm = 4.0 if day >= date(2026, 1, 1) else 0.0
        base = 2 + 14 * max(0, 1 - abs((day - date(2026, 7, 25)).days) / 180)
        lines.append(f"{day},{base + warm:.1f},{base + 9 + warm:.1f}")
        day += timedelta(days=1)
    file = tmp_path / "days.csv"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    told = json.loads(advise("--json", weather=str(file)))

    assert told["stages"]["full_bloom"]["basis"] == "weather"


def test_own_practice_is_read_from_a_file(tmp_path):
    ours = tmp_path / "ours.toml"
    ours.write_text("heading_margin_mm = -100\n", encoding="utf-8")
    young = {"planted": "2025-12-01", "date": "2026-01-10", "leader_cm": "130"}

    usual = json.loads(advise("--json", **young))
    told = json.loads(advise("--json", practice=str(ours), **young))

    def cut(answer):
        return next(row["instruction"] for row in answer["due"] if row["kind"] == "head_back")

    assert "5 cm above" in cut(usual)
    assert "10 cm below" in cut(told)


@pytest.mark.parametrize(
    ("text", "said"),
    [("full_share = 4", "out of range"), ("low_shots = 1", "use low_shoots"), ("low shoots", "cannot be read")],
)
def test_wrong_practice_file_is_told_by_key(tmp_path, text, said):
    ours = tmp_path / "ours.toml"
    ours.write_text(text, encoding="utf-8")
    with pytest.raises(CommandError, match=said) as refusal:
        advise(practice=str(ours))

    assert refusal.value.returncode == 2


def test_practice_file_that_is_not_there_is_told():
    with pytest.raises(CommandError, match=r"--practice: .* cannot be read"):
        advise(practice="no-such-file.toml")

"""Wall-clock minutes across clock changes. Change days from the public time zone database (tzdata): Europe/London went
forward on 30 March 2025 at 1:00 and back on 26 October 2025 at 2:00; America/New_York forward on 9 March 2025."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from scheduling.rounds import hours_in_zone, instant, wall_minute

LONDON, NEW_YORK, KOLKATA = ZoneInfo("Europe/London"), ZoneInfo("America/New_York"), ZoneInfo("Asia/Kolkata")


@pytest.mark.parametrize(
    ("day", "utc_hour"),
    [(date(2025, 3, 28), 8), (date(2025, 3, 30), 7), (date(2025, 10, 25), 7), (date(2025, 10, 26), 8)],
)
def test_eight_o_clock_is_eight_o_clock_on_change_days(day, utc_hour):
    moment = instant(day, 480, LONDON)

    assert moment.astimezone(UTC).hour == utc_hour
    assert (moment.hour, moment.minute) == (8, 0)
    assert wall_minute(moment, day, LONDON) == 480


def test_skipped_time_jumps_forward_with_the_clock():
    moment = instant(date(2025, 3, 30), 90, LONDON)

    assert (moment.hour, moment.minute) == (2, 30)


def test_time_shown_twice_is_the_first():
    assert instant(date(2025, 10, 26), 90, LONDON).astimezone(UTC) == datetime(2025, 10, 26, 0, 30, tzinfo=UTC)


def test_minutes_past_midnight_fall_on_the_next_day():
    assert instant(date(2025, 3, 3), 1500, LONDON).date() == date(2025, 3, 4)


@pytest.mark.parametrize(("day", "opens"), [(date(2025, 3, 8), 480 + 300), (date(2025, 3, 10), 480 + 240)])
def test_hours_in_another_zone_follow_both_clocks(day, opens):
    # New York changes three weeks before London: five hours apart in winter, four between the two changes.
    assert hours_in_zone(day, (480, 720), NEW_YORK, LONDON) == (opens, opens + 240)


def test_half_hour_zones_are_exact():
    assert hours_in_zone(date(2025, 1, 15), (540, 600), KOLKATA, LONDON) == (210, 270)


def test_instant_without_zone_is_refused():
    with pytest.raises(ValueError, match="carry its zone"):
        wall_minute(datetime(2025, 3, 3, 8), date(2025, 3, 3), LONDON)  # noqa: DTZ001

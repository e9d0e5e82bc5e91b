"""What is due on many trees, from rows to needs with their dates: ``python -m tests.benchmarks.needs [--trees N ...]``.

A made-up book on a database of its own (a new SQLite file): about seven trees to a garden, gardens round twelve weather
stations at heights of 0 to 300 m, 25 species in their forms, up to five years of records, some with stages seen this
year. Each number of trees is reckoned twice: cold, in a fresh process that has not reckoned any stage yet, and warm, by
the same process again.

Prints one JSON line per number of trees: sites, trees, needs found, and seconds of wall and processor time, cold and warm.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from typing import Any

SEASON, TODAY = 2027, date(2027, 4, 6)
STATIONS, TREES_A_SITE = 12, 6.67
FIRST_DAY = date(2022, 7, 1)
MIDDLE = (51.4, -1.2)
ROUND_DEG = 1.2
SPECIES_AND_FORMS = (
    ("apple_spur", ("horizontal_tiers", "oblique_cordon", "step_over", "candelabra_palmette", "fan")),
    ("apple_spur", ("horizontal_tiers", "upright_cordon", "lattice")),
    ("apple_part_tip", ("fan", "informal")),
    ("apple_tip", ("fan", "informal")),
    ("pear_european", ("horizontal_tiers", "candelabra_palmette", "oblique_cordon", "double_u")),
    ("pear_european", ("horizontal_tiers", "fan")),
    ("pear_asian", ("horizontal_tiers", "fan")),
    ("quince", ("fan",)),
    ("medlar", ("informal", "fan")),
    ("peach", ("fan",)),
    ("nectarine", ("fan",)),
    ("apricot", ("fan", "oblique_palmette")),
    ("plum_european", ("fan", "informal")),
    ("plum_japanese", ("fan",)),
    ("cherry_sweet", ("fan",)),
    ("cherry_sour", ("fan",)),
    ("fig", ("fan",)),
    ("grape", ("vine_rod_and_spur", "vine_cane_replacement", "vine_tiers")),
    ("kiwifruit", ("vine_tiers", "horizontal_tiers")),
    ("mulberry", ("fan", "horizontal_tiers")),
    ("currant_red_white", ("upright_cordon", "fan")),
    ("gooseberry", ("upright_cordon", "fan")),
    ("blackberry", ("informal",)),
    ("raspberry_summer", ("informal",)),
    ("wisteria", ("informal",)),
    ("pyracantha", ("horizontal_tiers", "informal")),
)


def main() -> None:
    """Fill a database, reckon in fresh processes, print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--trees", type=int, nargs="+", default=[2_000, 10_000])
    parser.add_argument("--profile", action="store_true", help="print where the time of the cold reckoning goes")
    parser.add_argument("--processes", type=int, help="how many processes; by the machine where absent")
    parser.add_argument("--fill", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--measure", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.fill:
        with_django()
        fill(asked.fill)
    elif asked.measure:
        with_django()
        print(json.dumps(measured(asked.processes, is_profiled=asked.profile)))
    else:
        for trees in asked.trees:
            with tempfile.TemporaryDirectory() as folder:
                again(folder, "--fill", str(trees))
                again(
                    folder,
                    "--measure",
                    *(["--profile"] if asked.profile else []),
                    *(["--processes", str(asked.processes)] if asked.processes else []),
                )


def again(folder: str, *arguments: str) -> None:
    """This program in a process of its own, on the database in a folder."""
    given = {**os.environ, "VAR_DIR": folder, "DJANGO_SETTINGS_MODULE": "deploy.settings"}
    subprocess.run([sys.executable, "-m", "tests.benchmarks.needs", *arguments], check=True, env=given)


def with_django() -> None:
    """Django on the database of this process."""
    import django

    django.setup()


def measured(processes: int | None, *, is_profiled: bool) -> dict[str, Any]:
    """The cold and the warm reckoning."""
    from gardens.services.rules import our_knowledge

    our_knowledge()  # rules are read once when a process starts
    counts: dict[str, int] = {}
    if is_profiled:
        profiled(lambda: reckon(counts, 1))
    cold = timed(lambda: reckon(counts, processes))
    warm = timed(lambda: reckon(counts, processes))
    return {**counts, "cold": cold, "warm": warm}


def reckon(counts: dict[str, int], processes: int | None = None) -> None:
    """What is due at every garden, as planning a season asks it."""
    from gardens.queries.trees import sites_with_trees
    from gardens.services.due import DueBook
    from gardens.services.due_together import in_climates, reckoned_together

    sites = in_climates(sites_with_trees())
    trees = needs = 0
    with reckoned_together(DueBook(TODAY), sites, SEASON, processes) as work_at:
        for site in sites:
            for _, work in work_at(site):
                trees += 1
                needs += len(work.needs)
    counts |= {"sites": len(sites), "trees": trees, "needs": needs}


def profiled(work: Callable[[], object]) -> None:
    """Where the time goes, to the error output."""
    import cProfile
    import pstats

    profile = cProfile.Profile()
    profile.runcall(work)
    pstats.Stats(profile, stream=sys.stderr).sort_stats("tottime").print_stats(45)


def timed(work: Callable[[], object]) -> dict[str, float]:
    """Seconds of a piece of work: on the clock, and of all processors it used."""
    wall, before = time.perf_counter(), _processor()
    work()
    return {"wall_s": round(time.perf_counter() - wall, 2), "processor_s": round(_processor() - before, 2)}


def _processor() -> float:
    """Processor seconds of this process and of its children that have ended."""
    used = os.times()
    return used.user + used.system + used.children_user + used.children_system


def fill(trees: int) -> None:
    """The made-up book; the same for the same number."""
    from django.core.management import call_command

    from gardens.models import Record, Site, Support, Tree, Wire
    from tests import make

    call_command("migrate", verbosity=0)
    make.profile()
    dice = random.Random(11)
    stations = list(_stations(dice))
    client = make.client()
    sites = [_site(number, client, stations, dice) for number in range(max(1, round(trees / TREES_A_SITE)))]
    Site.objects.bulk_create(sites)
    supports = [
        Support(
            site=site,
            code="row",
            name="Row",
            kind=dice.choice(["wall", "post_and_wire"]),
            length_mm=60_000,
            height_mm=2200,
            gap_mm=150,
        )
        for site in sites
    ]
    Support.objects.bulk_create(supports)
    heights = (450, 850, 1250, 1650)
    Wire.objects.bulk_create(
        Wire(support=one, height_mm=height, support_height_mm=2200) for one in supports for height in heights
    )
    rows = [_tree(number, supports, dice) for number in range(trees)]
    Tree.objects.bulk_create(rows)
    Record.objects.bulk_create([record for row in rows for record in _records(row, dice)], batch_size=2000)


def _stations(dice: random.Random) -> Iterator[Any]:
    from gardens.climate import MonthlyNormals, Place, at_height
    from gardens.climate.normals import possible_years
    from gardens.climate.values import DailyWeather
    from gardens.services.weather import save_station, store_days
    from tests.benchmarks.chill import NORMALS

    days = (TODAY - FIRST_DAY).days
    for number in range(STATIONS):
        turn = 2 * math.pi * number / STATIONS
        place = Place(
            latitude_deg=MIDDLE[0] + 0.8 * math.sin(turn),
            longitude_deg=MIDDLE[1] + 1.2 * math.cos(turn),
            elevation_m=float(dice.randrange(0, 150)),
        )
        normals: MonthlyNormals = at_height(NORMALS, from_m=0, to_m=place.elevation_m)
        low, high = possible_years(normals, FIRST_DAY, days)
        row = number % low.shape[0]
        station = save_station(code=f"station-{number}", name=f"Station {number}", place=place, normals=normals)
        store_days(
            station=station,
            days=[
                DailyWeather(
                    on=FIRST_DAY + timedelta(days=step), tmin_c=float(low[row, step]), tmax_c=float(high[row, step])
                )
                for step in range(days)
            ],
        )
        yield station


def _site(number: int, client: Any, stations: list[Any], dice: random.Random) -> Any:
    from gardens.models import Site

    latitude, longitude = (middle + dice.uniform(-ROUND_DEG, ROUND_DEG) for middle in MIDDLE)
    nearest = min(
        stations, key=lambda one: math.hypot(one.latitude_deg - latitude, 0.62 * (one.longitude_deg - longitude))
    )
    return Site(
        client=client,
        code=f"garden-{number}",
        name=f"Garden {number}",
        latitude_deg=round(latitude, 5),
        longitude_deg=round(longitude, 5),
        elevation_m=round(abs(dice.gauss(0, 110)), 1),
        time_zone="Europe/London",
        station=nearest,
    )


def _tree(number: int, supports: list[Any], dice: random.Random) -> Any:
    from gardens.models import Tree

    row, support = divmod(number, len(supports))
    species, forms = SPECIES_AND_FORMS[dice.randrange(len(SPECIES_AND_FORMS))]
    return Tree(
        site=supports[support].site,
        support=supports[support],
        code=f"tree-{number}",
        label=f"Tree {number}",
        species=species,
        form=dice.choice(forms),
        tiers=dice.choice([0, 3, 4]),
        position_mm=2500 + 3700 * row,
        run_left_mm=1800,
        run_right_mm=1800,
        planted_on=date(dice.randrange(2017, 2027), dice.choice([1, 2, 3, 11, 12]), dice.randrange(1, 28)),
        start=dice.choice(["whip", "whip", "feathered", "ready_trained"]),
        tiers_at_start=1,
    )


def _records(tree: Any, dice: random.Random) -> Iterator[Any]:
    """Growth, ties and cuts of up to five years; at one garden in ten a stage seen this year."""
    from business import clock
    from gardens.models import Record

    def record(on: date, kind: str, what: str, **values: Any) -> Any:
        return Record(tree=tree, on=on, kind=kind, what=what, source="office", entered_at=clock.now(), **values)

    for year in range(max(tree.planted_on.year + 1, 2022), 2027):
        day = date(year, 1, 5) + timedelta(days=dice.randrange(50))
        yield record(day, "measured", "season_growth", limb="tier:1", value=abs(dice.gauss(350, 90)))
        yield record(day, "measured", "leader_height", limb="leader", value=500.0 + 250 * (year - tree.planted_on.year))
        yield record(day, "done", "winter_prune")
        yield record(day + timedelta(days=200), "done", "summer_prune")
    if dice.random() < 0.1 and tree.species in ("apple_spur", "pear_european", "peach"):
        yield record(date(2027, 3, 20) + timedelta(days=dice.randrange(14)), "seen", "stage", text="bud_burst")


if __name__ == "__main__":
    main()

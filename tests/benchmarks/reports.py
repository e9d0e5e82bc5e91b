"""Visit reports by two processes against the bare renderer: ``python -m tests.benchmarks.reports [--number N]``.

Each report has four photos and three drawings of trees (and the strips that go with them). The bare renderer gets the
very same HTML, the same style and the same type, and turns it into PDF in as many processes; what the program adds is
reading rows, folding trees, drawing, shrinking photos, keeping the paper. Prints one JSON line with processor seconds
and wall seconds of both, and the share of the bare renderer's pace: 1.0 is as fast, 0.9 is wanted.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import resource
import tempfile
import time
from collections.abc import Callable, Sequence
from multiprocessing import get_context
from pathlib import Path
from typing import Any

TREES = 3
PHOTOS = 4


def main() -> None:
    """Make the visits, then race."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--number", type=int, default=100)
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["VAR_DIR"] = folder
        _set_up()
        visits = make_visits(asked.number)
        _forget_connections()
        print(json.dumps(race(visits, asked.workers, Path(folder))))


def race(visits: Sequence[int], workers: int, folder: Path) -> dict[str, Any]:
    """The bare renderer and the program in turn, each in fresh processes that are warm before the clock starts."""
    pages = folder / "pages"
    pages.mkdir()
    with get_context("spawn").Pool(workers, _start) as pool:
        sizes = pool.map(_write_page, [(visit, str(pages)) for visit in visits], chunksize=4)
        bare = _timed(pool, _render_bare, [str(pages / f"{visit}.html") for visit in visits])
        ours = _timed(pool, _write_report, list(visits))
        # Once more the other way round, so that neither profits from the order.
        ours_again = _timed(pool, _report_pdf, list(visits))
        bare_again = _timed(pool, _render_bare, [str(pages / f"{visit}.html") for visit in visits])
    cpu_bare = (bare["processor_s"] + bare_again["processor_s"]) / 2
    wall_bare = (bare["wall_s"] + bare_again["wall_s"]) / 2
    return {
        "reports": len(visits),
        "workers": workers,
        "photos_each": PHOTOS,
        "trees_each": TREES,
        "html_kb": round(sum(sizes) / len(sizes) / 1024),
        "pdf_kb": round(ours["bytes"] / len(visits) / 1024),
        "bare": bare,
        "bare_again": bare_again,
        "written_and_kept": ours,
        "written_only": ours_again,
        "pace_by_processor": round(cpu_bare / ours["processor_s"], 3),
        "pace_by_wall": round(wall_bare / ours["wall_s"], 3),
    }


def make_visits(number: int) -> list[int]:
    """Finished visits of one garden each, with photos before and after."""
    from datetime import date

    from django.core.management import call_command

    from scheduling.models import Task, Visit
    from tests import make, make_garden

    call_command("migrate", verbosity=0)
    make.profile()
    pictures = [_picture(seed) for seed in range(PHOTOS)]
    found = []
    for _ in range(number):
        support = make_garden.support(length_mm=12_000)
        trees = [make_garden.tree(support=support, position_mm=2000 + 4000 * place) for place in range(TREES)]
        needs = tuple(make_garden.need(tree=tree) for tree in trees for _ in range(2))
        visit = make_garden.visit(needs=needs, on=date(2027, 1, 12))
        Task.objects.filter(work_order__visit=visit).update(state="done", answered_at=make_garden.utc(2027, 1, 12))
        Visit.objects.filter(pk=visit.pk).update(
            state="finished", finished_at=make_garden.utc(2027, 1, 12, 15), minutes_taken=80
        )
        for tree in trees:
            make_garden.need(
                tree=tree, kind="summer_prune", best_from=date(2027, 7, 1), best_until=date(2027, 8, 1),
                closes=date(2027, 9, 1),
            )  # fmt: skip
        _take_photos(visit, trees, pictures)
        found.append(visit.pk)
    return found


def _take_photos(visit: Any, trees: Sequence[Any], pictures: Sequence[bytes]) -> None:
    import uuid

    from django.core.files.base import ContentFile

    from gardens.models import Photo
    from tests import make_garden

    for place, content in enumerate(pictures):
        photo = Photo(
            site=visit.site,
            tree=trees[place // 2],
            digest=uuid.uuid4().hex * 2,
            pair="before" if place % 2 == 0 else "after",
            taken_at=make_garden.utc(2027, 1, 12, 10 + place),
            reference=f"visit:{visit.pk}",
            width_px=1600,
            height_px=1200,
        )
        photo.file.save(f"{photo.digest}.jpg", ContentFile(content), save=False)
        photo.save()


def _picture(seed: int) -> bytes:
    """A picture with as much in it as a photo of a hedge, by a formula: the same on every machine."""
    import numpy as np
    from PIL import Image, ImageFilter

    noise = np.random.default_rng(seed).integers(0, 255, (300, 400, 3), dtype=np.uint8)
    image = Image.fromarray(noise).resize((1600, 1200)).filter(ImageFilter.GaussianBlur(1.5))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=82)
    return out.getvalue()


# In the processes


def _set_up() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    import django

    django.setup()


def _forget_connections() -> None:
    from django.db import connections

    connections.close_all()


def _visit(visit_id: int) -> Any:
    from scheduling.models import Visit
    from scheduling.queries.visits import with_tasks

    return with_tasks(Visit.objects.select_related("site__client", "round__crew")).get(pk=visit_id)


def _write_page(asked: tuple[int, str]) -> int:
    from scheduling.documents.reports import report_html

    visit_id, folder = asked
    html = report_html(_visit(visit_id))
    (Path(folder) / f"{visit_id}.html").write_text(html, encoding="utf-8")
    return len(html)


def _start() -> None:
    """What a worker does once in its life, before it takes jobs."""
    _set_up()
    from business.documents.pdf import render
    from gardens.knowledge import load_knowledge

    load_knowledge()
    render("<!doctype html><html lang='en'><title>warm</title><p>warm</p></html>")


def _render_bare(path: str) -> int:
    """The library alone, with nothing of ours around it but style and type."""
    import warnings

    from weasyprint import CSS, HTML
    from weasyprint.text.fonts import FontConfiguration

    from business.documents.pdf import FONTS, SIZES, STYLE

    fonts = FontConfiguration()
    sheets = [
        CSS(string=STYLE.read_text(encoding="utf-8"), base_url=f"{FONTS.as_uri()}/", font_config=fonts),
        CSS(string=f"@page {{ size: {SIZES['A4']} }}", font_config=fonts),
    ]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)
        html = HTML(string=Path(path).read_text(encoding="utf-8"))
        return len(html.write_pdf(stylesheets=sheets, font_config=fonts, pdf_variant="pdf/ua-1"))


def _write_report(visit_id: int) -> int:
    """All the program does: read, draw, render, keep."""
    from scheduling.services.reports import write_report

    return int(write_report(visit_id=visit_id).document.size)


def _report_pdf(visit_id: int) -> int:
    from scheduling.documents.reports import report_pdf

    return len(report_pdf(_visit(visit_id)))


def _measured(asked: tuple[Callable[[Any], int], Any]) -> tuple[int, float]:
    act, what = asked
    before = _processor()
    size = act(what)
    return size, _processor() - before


def _processor() -> float:
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def _timed(pool: Any, act: Callable[[Any], int], work: Sequence[Any]) -> dict[str, Any]:
    start = time.perf_counter()
    found = pool.map(_measured, [(act, what) for what in work], chunksize=2)
    wall = time.perf_counter() - start
    return {
        "wall_s": round(wall, 2),
        "processor_s": round(sum(seconds for _, seconds in found), 2),
        "bytes": sum(size for size, _ in found),
        "per_second": round(len(work) / wall, 2),
    }


if __name__ == "__main__":
    main()

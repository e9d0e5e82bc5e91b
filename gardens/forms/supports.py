"""What is asked about the build of a support."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from business.errors import Refusal
from business.forms.days import day_input
from gardens.knowledge.material_book import materials

Path = tuple[str, ...]

PATHS: Mapping[str, tuple[Path, ...]] = {
    "size": (("wire", "size"),),
    "grade": (("wire", "grade"),),
    "coating": (("wire", "coating"),),
    "joint": (("joint",),),
    "tension_n": (("tension_n",),),
    "hold_gap": (("hold_gap",),),
    "slope_percent": (("slope_percent",),),
    "wall": (("wall",),),
    "timber": (("end_fixing", "timber"), ("fixing", "timber")),
    "end_fixing_kind": (("end_fixing", "kind"),),
    "end_fixing_diameter": (("end_fixing", "diameter"),),
    "end_fixing_anchor": (("end_fixing", "anchor"),),
    "end_fixing_tested_n": (("end_fixing", "tested_n"),),
    "fixing_kind": (("fixing", "kind"),),
    "fixing_diameter": (("fixing", "diameter"),),
    "fixing_anchor": (("fixing", "anchor"),),
    "fixing_tested_n": (("fixing", "tested_n"),),
    "post_kind": (("post", "kind"),),
    "post_size": (("post", "size"),),
    "post_length": (("post", "length"),),
    "post_depth": (("post", "depth"),),
    "post_setting": (("post", "setting"),),
    "end_kind": (("end", "kind"),),
    "end_height": (("end", "height"),),
    "end_reach": (("end", "reach"),),
    "end_post_size": (("end", "post", "size"),),
    "end_post_length": (("end", "post", "length"),),
    "end_post_depth": (("end", "post", "depth"),),
    "end_anchor": (("end", "anchor", "kind"),),
    "end_anchor_depth": (("end", "anchor", "depth"),),
    "soil": (("place", "soil"),),
    "exposure": (("place", "exposure"),),
    "gust_m_s": (("place", "gust_m_s"),),
    "people_pass": (("place", "people_pass"),),
}
"""Where in a build each field stands."""

HOLDING = {"post": "post_length", "end, post": "end_post_length", "end": "end_kind"}
"""Fields that stand for a whole part, where a fault names the part alone."""

GROUPS: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...] = (
    (
        "The wire",
        ("built_on", "size", "grade", "coating", "joint", "tension_n", "hold_gap", "slope_percent"),
        ("wall", "fence", "post_and_wire"),
    ),
    ("What it is fixed to", ("wall",), ("wall",)),
    ("What it is fixed to", ("timber",), ("fence",)),
    (
        "Fixings at the ends, which take the pull",
        ("end_fixing_kind", "end_fixing_diameter", "end_fixing_anchor", "end_fixing_tested_n"),
        ("wall", "fence"),
    ),
    (
        "Fixings in between",
        ("fixing_kind", "fixing_diameter", "fixing_anchor", "fixing_tested_n"),
        ("wall", "fence"),
    ),
    ("Line posts", ("post_kind", "post_size", "post_length", "post_depth", "post_setting"), ("post_and_wire",)),
    (
        "Both ends",
        (
            "end_kind", "end_height", "end_reach", "end_post_size", "end_post_length", "end_post_depth", "end_anchor",
            "end_anchor_depth",
        ),
        ("post_and_wire",),
    ),
    ("Ground and weather", ("soil", "people_pass"), ("post_and_wire",)),
    ("Ground and weather", ("exposure", "gust_m_s"), ("wall", "fence", "post_and_wire")),
)  # fmt: skip
"""Legend, fields, kinds of support they are asked for."""

END_WORDS = (
    ("tie_back", "stay to an anchor outside the row"),
    ("h_brace", "H-brace: two posts, rail and diagonal"),
    ("strut", "strut on the row side"),
    ("bare", "the end post alone"),
)


@dataclass(frozen=True)
class Group:
    """A part of the form under one legend."""

    legend: str
    fields: Sequence[forms.BoundField]


def _named(rows: Any) -> list[tuple[str, str]]:
    return [("", "not known"), *sorted(((key, row.name) for key, row in rows.items()), key=lambda pair: pair[1])]


def _size(label: str, like: str) -> forms.CharField:
    return forms.CharField(label=label, required=False, max_length=20, help_text=f"Like {like}.")


def _choice(label: str) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        required=False,
        error_messages={"invalid_choice": "Choose one of the list; %(value)s is not on it."},
    )


def _number(label: str, least: float, most: float, unit: str) -> forms.FloatField:
    return forms.FloatField(
        label=f"{label} ({unit})",
        required=False,
        min_value=least,
        max_value=most,
        error_messages={
            "invalid": f"Write a plain number of {unit}, without the unit.",
            # These two are filled in by the form library, where a plain % would mean a gap.
            "min_value": f"Give at least {least:g} {unit.replace('%', '%%')}.",
            "max_value": f"Give at most {most:g} {unit.replace('%', '%%')}.",
        },
    )


class BuildForm(forms.Form):
    """The build of a support. What stays empty is assumed and listed as such."""

    built_on = forms.DateField(
        label="Put up on",
        required=False,
        widget=day_input(),
        error_messages={"invalid": "Write the day it was put up as 2024-03-28."},
    )
    size = _size("Wire", "2.5 mm, 14 SWG or 12½ ga W&M")
    grade = _choice("Grade of the wire")
    coating = _choice("Coating")
    joint = _choice("How its ends are made fast")
    tension_n = _number("Strung to", 10, 10_000, "N")
    hold_gap = _size("Eyes or posts apart", "1.8 m")
    slope_percent = _number("The ground rises to the right by", -60, 60, "%")
    wall = _choice("The wall")
    timber = _choice("The timber")
    end_fixing_kind = _choice("Kind")
    end_fixing_diameter = _size("Shank or bolt", "10 mm")
    end_fixing_anchor = _choice("Held by")
    end_fixing_tested_n = _number("Pulled on trial to", 10, 50_000, "N")
    fixing_kind = _choice("Kind")
    fixing_diameter = _size("Shank or bolt", "6 mm")
    fixing_anchor = _choice("Held by")
    fixing_tested_n = _number("Pulled on trial to", 10, 50_000, "N")
    post_kind = _choice("Kind")
    post_size = _size("Width", "100 mm")
    post_length = _size("Length, foot to top", "2.4 m")
    post_depth = _size("In the ground", "75 cm")
    post_setting = _choice("Set how")
    end_kind = _choice("How they are held")
    end_height = _size("Stay, rail or strut meets the post at", "1.6 m")
    end_reach = _size("Reach of brace or strut", "2.4 m")
    end_post_size = _size("Width of the end posts", "125 mm")
    end_post_length = _size("Length of the end posts", "2.7 m")
    end_post_depth = _size("End posts in the ground", "90 cm")
    end_anchor = _choice("What keeps them from pulling out")
    end_anchor_depth = _size("Anchors deep", "1.2 m")
    soil = _choice("Ground")
    exposure = _choice("Air")
    gust_m_s = _number("Strongest gust", 5, 80, "m/s")
    people_pass = forms.BooleanField(label="People pass or sit within its fall line", required=False)

    def __init__(self, *args: Any, kind: str = "", name: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind, self.name = kind, name
        book = materials()
        anchors = [*_named(book.wall_anchors), ("wood", "screwed into timber")]
        for field, rows in (
            ("grade", _named(book.grades)),
            ("coating", _named(book.coatings)),
            ("joint", _named(book.joints)),
            ("wall", _named(book.walls)),
            ("timber", _named(book.timbers)),
            ("end_fixing_kind", _named(book.fixings)),
            ("fixing_kind", _named(book.fixings)),
            ("end_fixing_anchor", anchors),
            ("fixing_anchor", anchors),
            ("post_kind", _named(book.posts)),
            ("post_setting", _named(book.settings)),
            ("end_kind", [("", "not known"), *END_WORDS]),
            ("end_anchor", _named(book.pull_outs)),
            ("soil", [("", "not known"), *(pair for pair in _named(book.soils)[1:] if pair[0] != "unknown")]),
            ("exposure", _named(book.exposures)),
        ):
            chosen = self.fields[field]
            if isinstance(chosen, forms.ChoiceField):
                chosen.choices = rows

    @property
    def groups(self) -> list[Group]:
        """The fields that matter for this kind of support, under their legends."""
        found: dict[str, list[forms.BoundField]] = {}
        for legend, names, kinds in GROUPS:
            if self.kind in kinds or not self.kind:
                found.setdefault(legend, []).extend(self[name] for name in names)
        return [Group(legend, fields) for legend, fields in found.items()]

    def build(self, kept: Mapping[str, Any]) -> dict[str, Any]:
        """The build with what was said laid over what was kept; what the form does not ask stays."""
        asked = {name for _, names, kinds in GROUPS for name in names if self.kind in kinds or not self.kind}
        build = {key: _copy(value) for key, value in kept.items()}
        for name, paths in PATHS.items():
            if name not in asked:
                continue
            value = self.cleaned_data.get(name)
            for path in paths:
                _put(build, path, value if value not in (None, "", False) else None)
        return build

    def take(self, refusal: Refusal) -> None:
        """Show what the core refused, beside its field where it has one."""
        for fault in refusal.faults:
            field = self._field_of(fault.where)
            self.add_error(field, f"{fault.wrong}: {fault.remedy}." if field else f"{fault}.")

    def _field_of(self, where: str) -> str | None:
        place = where.removeprefix(self.name).removeprefix(", ")
        if place in HOLDING:
            return HOLDING[place]
        path = tuple(place.split(", "))
        return next((name for name, paths in PATHS.items() if path in paths), None)


def initial_of(build: Mapping[str, Any]) -> dict[str, Any]:
    """The form's values from a kept build."""
    return {name: _get(build, paths[0]) for name, paths in PATHS.items()}


def _copy(value: Any) -> Any:
    return {key: _copy(inner) for key, inner in value.items()} if isinstance(value, dict) else value


def _get(build: Mapping[str, Any], path: Iterable[str]) -> Any:
    value: Any = build
    for key in path:
        if not isinstance(value, Mapping):
            return None
        value = value.get(key)
    return value


def _put(build: dict[str, Any], path: Path, value: Any) -> None:
    """Set or take away a value in a tree of tables; a table that is left empty goes too."""
    key, *rest = path
    if not rest:
        if value is None:
            build.pop(key, None)
        else:
            build[key] = value
        return
    inner = build.get(key)
    table: dict[str, Any] = inner if isinstance(inner, dict) else {}
    _put(table, tuple(rest), value)
    if table:
        build[key] = table
    else:
        build.pop(key, None)

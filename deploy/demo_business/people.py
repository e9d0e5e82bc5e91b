"""The invented clients and their gardens."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

YARD = (51.0312, -2.8207)
"""Where the crews start: latitude and longitude in degrees."""

CLIENTS = (
    ("Rosa Ashdown", "Dear Mrs Ashdown", "person"),
    ("Tobias Penhale", "Dear Tobias", "person"),
    ("Idris and Maud Colley", "Dear Mr and Mrs Colley", "person"),
    ("The Marrow Almshouses", "Dear Trustees", "organisation"),
    ("Verity Loxton", "Dear Verity", "person"),
    ("Harcombe School", "Dear Bursar", "organisation"),
    ("Anselm Rudge", "Dear Mr Rudge", "person"),
    ("Beatriz Oakhanger", "Dear Ms Oakhanger", "person"),
    ("Cyril Thornbury-Pike", "Dear Mr Thornbury-Pike", "person"),
    ("Dilys Merriman", "Dear Dilys", "person"),
    ("The Old Rectory Trust", "Dear Secretary", "organisation"),
    ("Ewan Garrick", "Dear Ewan", "person"),
    ("Felicity Nunwick", "Dear Mrs Nunwick", "person"),
    ("Gideon Sallow", "Dear Mr Sallow", "person"),
    ("Hetty Quillian", "Dear Hetty", "person"),
    ("Ivor and Joan Brackley", "Dear Mr and Mrs Brackley", "person"),
    ("Josephine Amory", "Dear Miss Amory", "person"),
    ("Kester Whitlow", "Dear Mr Whitlow", "person"),
    ("Larkmead Care Home", "Dear Manager", "organisation"),
    ("Minna Ostler", "Dear Minna", "person"),
    ("Ned Fairweather", "Dear Ned", "person"),
    ("Oriel Stannage", "Dear Mrs Stannage", "person"),
    ("Percival Dunmow", "Dear Mr Dunmow", "person"),
    ("Quenby Farm", "Dear Mr and Mrs Tolland", "organisation"),
    ("Rufus Ainslie", "Dear Rufus", "person"),
    ("Saskia Wyndlow", "Dear Ms Wyndlow", "person"),
    ("Theodora Cray", "Dear Theodora", "person"),
    ("Umberto Vale", "Dear Mr Vale", "person"),
    ("Winifred Haddow", "Dear Mrs Haddow", "person"),
    ("Xanthe Perrott", "Dear Xanthe", "person"),
    ("Yorick Blaise", "Dear Mr Blaise", "person"),
    ("Zinnia Holloway", "Dear Ms Holloway", "person"),
)

VILLAGES = (
    ("Lower Marrow", 51.021, -2.742),
    ("Harcombe St Giles", 51.088, -2.861),
    ("Withy Corner", 50.985, -2.905),
    ("Nether Tolland", 51.012, -2.655),
    ("Sedgebridge", 51.112, -2.778),
    ("Cold Perry", 50.951, -2.772),
    ("Quenby", 51.047, -2.962),
    ("Larkmead", 51.064, -2.699),
)

HOUSES = (
    "Ashdown House", "Penhale Cottage", "The Colley Barn", "Almshouse Court", "Loxton Lodge", "School Walled Garden",
    "Rudge End", "Oakhanger", "Pike Manor", "Merriman's", "The Old Rectory", "Garrick's Mill", "Nunwick House",
    "Sallow Bank", "Quillian Cottage", "Brackley Farmhouse", "Amory Lodge", "Whitlow Place", "Larkmead Gardens",
    "Ostler's Yard", "Fairweather", "Stannage Hall", "Dunmow Villa", "Quenby Farm", "Ainslie House", "Wyndlow",
    "Cray Court", "Vale House", "Haddow's", "Perrott Cottage", "Blaise Grange", "Holloway House",
    "The Kitchen Garden", "The Stable Yard", "The South Terrace", "The Orchard Wall", "The Lower Garden",
    "The Gate House", "The Bothy", "The Long Border", "The Walled Acre", "The Mill Garden", "The Rose Court",
    "The Dairy Garden", "The Canal Garden", "The Melon Yard",
)  # fmt: skip

ACCESS = (
    "Side gate, bolt at the top. Water at the back door.",
    "Ring first. Park on the verge, not in the yard.",
    "Key safe by the porch; the office has the code.",
    "Through the churchyard; wheelbarrow only.",
    "Gate is open from eight. The dog is friendly but loud.",
    "Park behind the barn. Tap on the north wall.",
)

HAZARDS = (
    "Glass frames along the foot of the wall.",
    "Beehives at the east end; keep a wide berth in summer.",
    "Sloping border: foot the ladder.",
    "Overhead line above the fence; no long poles.",
    "Pond without a rail.",
    "",
    "",
    "",
)

ACCESS_DAYS = ("mo-fr", "mo-fr", "mo-fr", "mo tu we th", "tu th fr", "mo we fr", "we th", "mo-sa")


@dataclass(frozen=True, kw_only=True)
class DemoSite:
    """One invented garden before its supports are laid."""

    code: str
    client: str
    name: str
    village: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: int
    index: int


def code_of(name: str) -> str:
    """A short code from a name: "The Old Rectory Trust" → "old-rectory"."""
    words = [word for word in name.lower().replace("'s", "").replace(".", "").split() if word not in {"the", "and"}]
    return "-".join(words[:2])[:24].strip("-")


def client_rows(random: Random) -> list[dict[str, str]]:
    rows = []
    for number, (name, greeting, kind) in enumerate(CLIENTS, start=1):
        village = VILLAGES[number % len(VILLAGES)][0]
        code = code_of(name)
        rows.append(
            {
                "code": code,
                "name": name,
                "greeting": greeting,
                "kind": kind,
                "address": f"{HOUSES[number - 1]}\\n{village}",
                "country": "GB",
                "email": f"{code}@example.com",
                "phone": f"01632 960{random.randrange(100, 400)}",
                "units": "imperial" if number % 9 == 4 else "",
                "note": "",
            }
        )
    return rows


def demo_sites(random: Random) -> list[DemoSite]:
    """Every client's garden, and second gardens for the larger ones."""
    sites = []
    for index, house in enumerate(HOUSES):
        owner = CLIENTS[index % len(CLIENTS)][0]
        village, latitude, longitude = VILLAGES[(index * 3 + index // 8) % len(VILLAGES)]
        sites.append(
            DemoSite(
                code=f"{code_of(owner)}-{1 + index // len(CLIENTS)}",
                client=code_of(owner),
                name=house,
                village=village,
                latitude_deg=round(latitude + random.uniform(-0.018, 0.018), 5),
                longitude_deg=round(longitude + random.uniform(-0.028, 0.028), 5),
                elevation_m=random.randrange(8, 95),
                index=index,
            )
        )
    return sites


def site_row(site: DemoSite, random: Random) -> dict[str, str]:
    return {
        "code": site.code,
        "client": site.client,
        "name": site.name,
        "address": f"{site.name}\\n{site.village}",
        "latitude": f"{site.latitude_deg}",
        "longitude": f"{site.longitude_deg}",
        "elevation": f"{site.elevation_m}",
        "time_zone": "Europe/London",
        "climate_profile": "maritime",
        "station": "marrow-moor" if site.latitude_deg < 51.06 else "sedgebridge",
        "access_notes": random.choice(ACCESS),
        "hazards": random.choice(HAZARDS),
        "phone": f"01632 960{random.randrange(400, 700)}",
        "access_days": random.choice(ACCESS_DAYS),
        "access_from": "08:00" if random.random() < 0.4 else "",
        "access_until": "16:30" if random.random() < 0.25 else "",
    }

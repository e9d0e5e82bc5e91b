"""What is measured and seen, in the words people use."""

from __future__ import annotations

MEASURED_WORDS = {
    "leader_height": "Height of the leader",
    "limb_length": "Length of a limb",
    "limb_angle": "Angle of a limb",
    "trunk_girth": "Girth of the trunk",
    "season_growth": "Growth of this season",
}
SEEN_WORDS = {
    "stage": "Stage of the year",
    "fruit_count": "Number of fruits",
    "spur_count": "Number of spur systems",
    "disease": "Disease",
    "weak": "Weak limb",
    "lost": "Lost limb",
    "note": "Something else",
}
LENGTHS = {"leader_height", "limb_length", "trunk_girth", "season_growth", "head_back", "shorten_arms"}

"""The rules of the trade as data: species, labour, hazards, with the source of each."""

from gardens.knowledge.browse import RuleRow, rule_rows, rules_of_species, search_rules
from gardens.knowledge.files import Wrong, check, check_all, read_tables
from gardens.knowledge.load import Knowledge, load_knowledge, resolve_species
from gardens.knowledge.overlay import Overlaid, Overlay
from gardens.knowledge.schema import Species
from gardens.knowledge.when import Frame, When
from gardens.knowledge.words import form_group

__all__ = [
    "Frame",
    "Knowledge",
    "Overlaid",
    "Overlay",
    "RuleRow",
    "Species",
    "When",
    "Wrong",
    "check",
    "check_all",
    "form_group",
    "load_knowledge",
    "read_tables",
    "resolve_species",
    "rule_rows",
    "rules_of_species",
    "search_rules",
]

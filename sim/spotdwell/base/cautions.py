"""Cautions that go with every number: on the screen, in JSON and in tables."""

SAFETY = (
    "Lasers burn and blind: IEC 60825-1, ANSI Z136.3, local rules and licensed practice come first. "
    "These numbers come from a model: they are no advice on how to treat anybody."
)
"""Under every summary, in the help, and as the key `caution` of JSON objects."""
CSV_LINE = f"# {SAFETY}\n"
"""First line of CSV files."""

"""Words on intervals: what they cover, and what they do not."""

COVERS = (
    "The 90 % interval holds input and model uncertainty (ASME V&V 20): material values drawn together as "
    "published rows allow, and what the model left out of those rows. It holds no numerical error, which the "
    "grid check states, and nothing of targets or settings unlike those rows (applicability, V&V 40). A "
    "figure itself, of values stated one by one, may lie outside."
)
RANGES = (
    "The 90 % interval holds input uncertainty alone (ASME V&V 20): material values out of their ranges, "
    "which no published row narrows. It holds no model or numerical error."
)

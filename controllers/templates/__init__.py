"""A short law for each slot, to copy with `quadsim blocks --new FILE --slot SLOT`; slot rate has `controllers/template.py`."""

"""A section opened as the command that draws it does."""

from collections import OrderedDict
from dataclasses import fields, replace

from traverse.ground.lay_map import lay_band
from traverse.ground.lay_sections import lay_sections

_kept = OrderedDict()
_MOST = 8


def opened(section, trav):
    """One section with the ground under it, which is laid once for all sections of the same records."""
    of = (
        trav.log,
        trav.survey,
        trav.ground,
        *(getattr(trav.geology, one.name) for one in fields(trav.geology) if one.name != "sections"),
    )
    key = tuple(map(id, of))
    if key not in _kept:
        # With the records, whose numbers would be given to others.
        _kept[key] = of, lay_band(trav, drawn=False)
        if len(_kept) > _MOST:
            _kept.popitem(last=False)
    asked = replace(trav, geology=replace(trav.geology, sections=(section,)))
    return lay_sections(asked, _kept[key][1])[0]

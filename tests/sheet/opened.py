"""A section opened as the command that draws it does."""

from dataclasses import replace

from traverse.compile import section_ground


def opened(section, trav):
    """One section with the ground under it."""
    return section_ground(replace(trav, geology=replace(trav.geology, sections=(section,)))).ground.cuts[0]

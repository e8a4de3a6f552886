"""Compiles a geologist's field traverse, typed as it stands in the notebook, into a map sheet and tables."""

from traverse.version import __version__

__all__ = ["__version__"]

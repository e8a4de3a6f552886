"""Closure report, structure sheet, net, rose and column."""

"""Closure report, structure sheet, net, rose, column and readings laid flat."""

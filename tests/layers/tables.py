"""Tables of a compiled day, for tests that read them."""

from traverse.compile import layer_ground
from traverse.layers.lay_layers import layers_of
from traverse.output.csv_file import write_csv


def layers(trav):
    """The layers of a compiled day."""
    return layers_of(layer_ground(trav))


def table_of(name, trav):
    """One table as text."""
    return write_csv(layers(trav).layer(name)).decode()

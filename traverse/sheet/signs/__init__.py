"""Every sign, its measures, patterns and colours, and the lists of them."""

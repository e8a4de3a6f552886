"""How a bench prints what it found: the figure beside the aim, and plainly where the aim is missed."""


def told(what, figure, aim, unit=""):
    """One line; aims are upper limits."""
    verdict = "missed" if figure > aim else "met"
    print(f"{what}: {figure:.2f}{unit}, aim {aim:g}{unit}: {verdict}")

"""What can go wrong with recipes and materials: one class for each thing a caller can act on."""

from __future__ import annotations

from catalog.errors import CatalogError

__all__ = [
    "AnalysisSheetError",
    "BatchError",
    "BlendError",
    "EmptyRecipeError",
    "GlazeError",
    "MixedSetsError",
    "RecipeAmountError",
    "RecipeFileError",
    "SubstitutionError",
    "UnknownMaterialError",
]


class GlazeError(CatalogError):
    """Base of all errors about recipes and materials."""


class UnknownMaterialError(GlazeError):
    """A material name that stands for none in the table.

    Parameters
    ----------
    name : str
        As given.
    nearest : tuple of str
        Known names most like it, likest first; may be empty.
    """

    def __init__(self, name: str, nearest: tuple[str, ...]) -> None:
        hint = f"; nearest known: {', '.join(nearest)}" if nearest else ""
        super().__init__(f"{name!r} is not a known material{hint}")
        self.name = name
        self.nearest = nearest


class RecipeAmountError(GlazeError):
    """An amount that is negative or no finite number."""

    def __init__(self, material: str, amount: object) -> None:
        super().__init__(f"{material}: amount {amount!r}; wanted: a number, zero or more")
        self.material = material
        self.amount = amount


class EmptyRecipeError(GlazeError):
    """A recipe without any material that leaves something after firing."""


class RecipeFileError(GlazeError):
    """A recipe file that cannot be read.

    Parameters
    ----------
    name : str
        File name.
    reason : str
        What was found, what is wanted.
    line : int or None
        Line in the file, counted from 1, where known.
    """

    def __init__(self, name: str, reason: str, line: int | None = None) -> None:
        where = name if line is None else f"{name}, line {line}"
        super().__init__(f"{where}: {reason}")
        self.name = name
        self.reason = reason
        self.line = line


class BatchError(GlazeError):
    """A weight, moisture or specific gravity that no batch can have."""


class BlendError(GlazeError):
    """Recipes or shares that cannot be blended."""


class SubstitutionError(GlazeError):
    """A material that cannot be replaced, or a formula that the materials given cannot begin to make."""


class MixedSetsError(GlazeError):
    """Expansions of two factor sets set against each other."""

    def __init__(self, one: str, other: str) -> None:
        super().__init__(f"{one} and {other} are two factor sets; wanted: figures of one set only")
        self.one = one
        self.other = other


class AnalysisSheetError(GlazeError):
    """A supplier's analysis that cannot be right.

    Parameters
    ----------
    name : str
        The material.
    reason : str
        What was found, what is wanted.
    """

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(f"{name}: {reason}")
        self.name = name
        self.reason = reason

"""What every result says, whatever the sheet."""

CAUTIONS: tuple[str, ...] = (
    "Old prints may be superseded, shrunken or wrong, and a part made from them can hurt someone.",
    "Measure the mating parts before cutting.",
    "A gear's failure can release a load or drop a spindle.",
    "A sacrificial gear must stay the weakest part.",
    "Local codes and licensed practice come first.",
    "Strength figures are estimates for comparison, not a rating.",
)

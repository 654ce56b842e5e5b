"""An adapter from what was asked: one plate where one will do, else plate, ring and plate."""

from pathlib import Path

from baywright.adapter.design import AdapterDesign
from baywright.adapter.given import Given
from baywright.adapter.one import one_plate
from baywright.adapter.three import three_plates
from baywright.finding import CannotBuild
from baywright.job.adapters import AdapterAsk
from baywright.job.catalogue import Catalogue


def generate(name: str, ask: AdapterAsk, catalogue: Catalogue, folder: Path | None = None) -> AdapterDesign:
    """Return the design of an adapter.

    Args:
        name: its name in the job.
        ask: what was asked.
        catalogue: the shop's tables and the job's own parts.
        folder: where drawings that the request names lie; the working folder if None.

    Raises:
        CannotBuild: with one sentence, if what was asked cannot be made.
        BadInput: if a file that is named cannot be used.
    """
    given = Given(name, ask, catalogue)
    given.check()
    place = folder if folder is not None else Path()
    if ask.plates == "three":
        return three_plates(given, place, "asked for")
    try:
        return one_plate(given, place)
    except CannotBuild as no:
        if ask.plates == "one":
            raise
        try:
            return three_plates(given, place, no.sentence)
        except CannotBuild as neither:
            if neither.sentence == no.sentence:
                raise
            raise CannotBuild(
                neither.key, f"one plate will not do: {no.sentence}; nor plate, ring and plate: {neither.sentence}"
            ) from None

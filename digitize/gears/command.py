"""The command ``digitize gear``."""

import sys
from typing import Annotated

import typer
from rich.console import Console

from calibrate.errors import TraceclothError
from digitize.gears.desk import DeskInput, answer_json, gear_desk, print_answer

BAD_INPUT = 2
"""Exit code where what was typed can't be meant."""


def gear_command(
    teeth: Annotated[int | None, typer.Option(help="Number of teeth.")] = None,
    outside_diameter: Annotated[str | None, typer.Option(metavar="LENGTH", help="Over the tips.")] = None,
    root_diameter: Annotated[str | None, typer.Option(metavar="LENGTH", help="At the bottom of the spaces.")] = None,
    pitch_diameter: Annotated[str | None, typer.Option(metavar="LENGTH", help="As a print states it.")] = None,
    whole_depth: Annotated[str | None, typer.Option(metavar="LENGTH", help="From tip to bottom.")] = None,
    circular_pitch: Annotated[str | None, typer.Option(metavar="LENGTH", help="Tooth to tooth.")] = None,
    diametral_pitch: Annotated[str | None, typer.Option(metavar="P", help="8, or two numbers: 8/10.")] = None,
    module: Annotated[str | None, typer.Option(metavar="M", help="In millimetres.")] = None,
    pressure_angle: Annotated[str | None, typer.Option(metavar="DEG", help="14.5 or 14 1/2.")] = None,
    tooth_thickness: Annotated[str | None, typer.Option(metavar="LENGTH", help="Chordal, at the pitch circle.")] = None,
    span: Annotated[list[str] | None, typer.Option(metavar="K:LENGTH", help="Over K teeth; may be repeated.")] = None,
    pins: Annotated[list[str] | None, typer.Option(metavar="D:LENGTH", help="Over two pins of diameter D.")] = None,
    centre_distance: Annotated[str | None, typer.Option(metavar="LENGTH", help="With --mate-teeth.")] = None,
    mate_teeth: Annotated[int | None, typer.Option(help="Teeth of the gear it runs with.")] = None,
    helix_angle: Annotated[str | None, typer.Option(metavar="DEG", help="Of slanted teeth.")] = None,
    cutter: Annotated[str | None, typer.Option(metavar="NO", help="Number of the form cutter.")] = None,
    words: Annotated[
        list[str] | None, typer.Option(help="What is written: STUB, DIN 867 ...; may be repeated.")
    ] = None,
    year: Annotated[int | None, typer.Option(help="Of the drawing, roughly.")] = None,
    source: Annotated[
        str | None, typer.Option("--from", metavar="print|part", help="Where the sizes come from.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Rank the gear systems that fit some sizes, and say what to measure next.

    Lengths carry their unit and may carry a tolerance: 5.5in, 5 1/2in, 139.7mm, 5.5in+-0.01in.

    Example: digitize gear --teeth 42 --outside-diameter 5.5in
    """
    typed = DeskInput(
        teeth=teeth,
        outside_diameter=outside_diameter,
        root_diameter=root_diameter,
        pitch_diameter=pitch_diameter,
        whole_depth=whole_depth,
        circular_pitch=circular_pitch,
        diametral_pitch=diametral_pitch,
        module=module,
        pressure_angle=pressure_angle,
        chordal_thickness=tooth_thickness,
        span=tuple(span or ()),
        pins=tuple(pins or ()),
        centre_distance=centre_distance,
        mate_teeth=mate_teeth,
        helix_angle=helix_angle,
        cutter=cutter,
        words=tuple(words or ()),
        year=year,
        source=source,
    )
    try:
        answer = gear_desk(typed)
    except TraceclothError as error:
        sys.stderr.write(f"{error}\n")
        raise typer.Exit(BAD_INPUT) from error
    if as_json:
        sys.stdout.write(answer_json(answer) + "\n")
    else:
        print_answer(answer, Console())


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("gear")(gear_command)

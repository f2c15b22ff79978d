"""fieldfare kit: a kit from a spreadsheet, and a spreadsheet to fill in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.options import OffDown, OffRight, Paper, PaperSize, Speaks, Tongue
from fieldfare.cli.say import Status, leave, say, show_json
from fieldfare.units.faults import NotDone

if TYPE_CHECKING:
    from fieldfare.show.kit import Owner


app = typer.Typer(
    help="A kit from a spreadsheet; its insurance schedule; a test print of labels.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


@app.command("import")
def import_kit(
    file: Annotated[Path, typer.Argument(help="A spreadsheet (.csv, .xlsx) with a line a thing, or a kit's .toml.")],
    to: Annotated[
        Path | None, typer.Option(help="The kit file to write; without it the kit is only looked at.")
    ] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Write over a kit file that is there.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Write the kit as JSON.")] = False,
) -> None:
    """Read a kit, say what is in it, and write it as a kit file."""
    from fieldfare.show.toml import read_kit
    from fieldfare.show.write_toml import write_toml

    kit = read_kit(file)
    if to and to.exists() and not replace:
        raise NotDone("the file is there already", str(to), "choose another name, or write over it with --replace")
    if to:
        write_toml(kit, to, f"Read from {file.name}.", replace=replace)
    if as_json:
        show_json(kit)
        return
    kinds = {
        name: getattr(kit, name) for name in type(kit).model_fields if name not in ("owner_name", "length_colours")
    }
    for name, entries in kinds.items():
        units = sum(len(entry.tags) for entry in entries) if name != "bin" else len(entries)
        if entries:
            say(f"{name:<9} {len(entries):>3} {_plural('kind', len(entries))}, {units} {_plural('unit', units)}")
    faulty = {tag: symptom for thing in kit.things for tag, symptom in thing.faulty.items()}
    for tag, symptom in faulty.items():
        say(f"{tag} is faulty: {symptom}")
    say(f"Written to {to}." if to else "Nothing was written; --to kit.toml writes it.")


def _plural(word: str, count: int) -> str:
    return word if count == 1 else f"{word}s"


@app.command()
def template(
    to: Annotated[Path, typer.Argument(help="The file to make, .csv or .xlsx.")],
) -> None:
    """Make a spreadsheet with every column and an example line of each thing."""
    from fieldfare.show.template import write_template

    write_template(to)
    say(f"Made {to}. Fill it in, then: fieldfare kit import {to} --to kit.toml")


@app.command()
def insurance(
    kit: Annotated[Path, typer.Argument(help="A kit's .toml, or a spreadsheet.")],
    currency: Annotated[str, typer.Option(help="In which the values are: EUR.")],
    to: Annotated[Path, typer.Option(help="Folder for insurance.pdf.")] = Path(),
    paper: PaperSize = Paper.a4,
    hired: Annotated[
        bool, typer.Option("--hired", help="What is hired as well: its owner mostly wants it covered.")
    ] = False,
    language: Speaks = Tongue.en,
) -> None:
    """Print the insurance schedule: every unit with its serial number and value, totals by bin."""
    import datetime as dt

    from fieldfare.sheets.insurance import insurance_pdf, insurance_sheet
    from fieldfare.sheets.write import put_all
    from fieldfare.show.toml import read_kit

    read, now = read_kit(kit), dt.datetime.now()
    owners: tuple[Owner, ...] = ("ours", "hired") if hired else ("ours",)
    sheet = insurance_sheet(read, currency, paper.value, now, owners)
    (path,) = put_all({"insurance.pdf": insurance_pdf(read, currency, paper.value, now, owners, language.value)}, to)
    say(f"{sheet.total} for {sheet.units} units, {sheet.unvalued} of them without a value. Printed {path}.")
    leave(Status.LOOK if sheet.unvalued else Status.DONE)


@app.command("test-print")
def print_test(
    to: Annotated[Path, typer.Option(help="Folder for test-print.pdf.")] = Path(),
    paper: PaperSize = Paper.a4,
    off_right: OffRight = 0.0,
    off_down: OffDown = 0.0,
    language: Speaks = Tongue.en,
) -> None:
    """Print rulers and the outlines of labels: to check a printer's scale and a label sheet's place."""
    import datetime as dt

    from fieldfare.sheets.rulers import ruler_pdf
    from fieldfare.sheets.tags import Offset
    from fieldfare.sheets.write import put_all

    content = ruler_pdf(paper.value, dt.datetime.now(), Offset(off_right, off_down), language.value)
    (path,) = put_all({"test-print.pdf": content}, to)
    say(f"Printed {path}: print it at 100 % on plain paper, lay a rule on it, and hold it against a label sheet.")

"""Input list, patch with its threads, pack list, tape, and what stands open: the data, before they are set."""

from __future__ import annotations

import datetime as dt

import pytest
from sheets import example, pdf
from sheets.example import PRINTED

from fieldfare.sheets.day import day_sheet
from fieldfare.sheets.head import Setting
from fieldfare.sheets.inputs import input_sheet
from fieldfare.sheets.pack import pack_sheet
from fieldfare.sheets.patch import patch_sheet
from fieldfare.sheets.questions import cautions, question_sheet
from fieldfare.sheets.tape import tape_sheet
from fieldfare.sheets.threads import COLUMNS, STANDS_IN, thread_of
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.wording import NINE_IN_TEN
from fieldfare.show.plan import Hit, Hop, PackLine, Plan, Task
from fieldfare.units.working import Given


def _setting(plan: Plan | None = None) -> Setting:
    documents = example.example()
    return Setting(plan or documents.plan, documents.show, documents.venue, "a4", "C", PRINTED)


def test_the_list_says_how_much_was_kept() -> None:
    sheet = input_sheet(_setting())
    assert sheet.summary == "20 of 23 inputs kept"
    assert sheet.detail == "every must, 9 of 10 want and 0 of 2 nice; 20 of 20 channels used; 48 kHz, 24 bit"


def test_phantom_says_on_off_or_never_and_whose() -> None:
    rows = input_sheet(_setting()).rows
    assert (rows[4].phantom, rows[4].phantom_owner) == ("48 V", "ours")
    assert rows[0].phantom == "off"
    assert rows[14].phantom == "never"  # figure of eight, a ribbon in the example
    assert rows[14].phantom_owner == ""


def test_what_is_not_known_is_asked_and_never_a_number() -> None:
    row = input_sheet(_setting()).rows[17]
    assert (row.gain, row.reserve) == ("ask", "ask")


def test_a_sureness_that_all_figures_share_is_said_once_above_them() -> None:
    sheet = input_sheet(_setting())
    assert (sheet.gain_head, sheet.rows[1].gain) == ("≈ Gain, dB", "+20")
    documents = example.example()
    sure = documents.plan.input[0].model_copy(update={"gain": example.figure(18, "dB")})
    mixed = documents.plan.model_copy(update={"input": (sure, *documents.plan.input[1:])})
    sheet = input_sheet(_setting(mixed))
    assert (sheet.gain_head, sheet.rows[0].gain, sheet.rows[1].gain) == ("Gain, dB", "+18", "≈ +20")


def test_every_figure_has_its_formula_and_source_below_the_list() -> None:
    figures = input_sheet(_setting()).figures
    assert [row.name for row in figures] == ["gain, dB", "in hand, dB", "loudest moment at the preamp, dBu"]
    assert all(row.formula and row.source for row in figures)
    assert figures[0].sure == "estimate, ± 6 dB"


def test_notes_name_pairs_splits_leads_and_polarity() -> None:
    notes = {row.strip.number: row.notes for row in input_sheet(_setting()).rows}
    assert "pair with 6" in notes["5"]
    assert "polarity reversed" in notes["2"]
    assert "split S-01" in notes["18"]
    assert "lead I-08, white, 3 m" in notes["8"]
    assert "possible only" in notes["11"]


def test_what_shares_a_line_stands_on_its_row_and_not_among_the_lost() -> None:
    documents = example.example()
    shared = documents.plan.left_out[0].model_copy(update={"shares": "input-16"})
    plan = documents.plan.model_copy(update={"left_out": (shared, *documents.plan.left_out[1:])})
    sheet = input_sheet(_setting(plan))
    assert "also Hand bells, never at once" in sheet.rows[15].notes
    assert [row.strip.label for row in sheet.left_out] == ["Bass amp, second mic", "Harmonium"]
    assert sheet.detail.startswith("every must, every want and 0 of 2 nice; 1 on the line of another")


def test_what_would_be_taken_instead_has_a_part_of_its_own() -> None:
    sheet = input_sheet(_setting())
    assert [(row.strip.number, row.words) for row in sheet.next_best] == [
        ("12", "M-08, 6 dB more spill"), ("15", "M-08, 6 dB more spill"),
    ]  # fmt: skip


def test_a_packed_spare_of_the_same_kind_is_named_before_what_would_be_taken_without_one() -> None:
    plan = _setting().plan
    unit = next(row.unit for row in plan.input if row.next_best)
    assert unit is not None
    spare = PackLine(bin="Mic case", item=unit.item, tags=("M-50", "M-51"), owner=unit.owner, why="spare", spare=True)
    foreign = spare.model_copy(update={"tags": ("M-52",), "owner": "house"})
    sheet = input_sheet(_setting(plan.model_copy(update={"pack": (*plan.pack, spare, foreign)})))
    assert sheet.next_best[0].spares == "M-50, M-51"


def test_an_input_whose_line_or_track_differs_from_its_number_says_so() -> None:
    documents = example.example()
    moved = documents.plan.input[2].model_copy(update={"trunk_line": 9})
    plan = documents.plan.model_copy(update={"input": (*documents.plan.input[:2], moved, *documents.plan.input[3:])})
    assert "trunk line 9, track 3" in input_sheet(_setting(plan)).rows[2].notes


def test_boxes_stand_socket_by_socket_with_the_free_ones_told() -> None:
    documents = example.example(10)
    sheet = patch_sheet(Setting(documents.plan, documents.show, documents.venue, "a4", "C", PRINTED), documents.kit)
    drums, left = sheet.boxes
    assert [row.socket for row in drums.rows] == ["1", "2", "3", "4", "5", "6"]
    assert (left.used, left.free) == ("4 of 6 sockets used", "5, 6")
    assert [row.strip is None for row in left.rows] == [False, False, False, False, True, True]
    assert drums.where == "midstage right, 1.3 m right of the middle, 2.1 m upstage of the edge"
    at_the_edge = documents.plan.box[0].model_copy(update={"at": (0.0, 0.0)})
    plan = documents.plan.model_copy(update={"box": (at_the_edge, *documents.plan.box[1:])})
    drums, _ = patch_sheet(Setting(plan, documents.show, documents.venue, "a4", "C", PRINTED), documents.kit).boxes
    assert drums.where == "downstage centre, at the edge"


def test_a_thread_has_every_hop_in_its_column_and_fails_at_its_hop() -> None:
    plan = example.example().plan
    row = plan.input[11]
    thread = thread_of(row, plan.hit, "48 V")
    shown = [station.name for stretch in thread.stretches for station in stretch.stations]
    assert len(shown) == len(row.thread) - 1  # the source is the strip itself
    fails = [station.tag for stretch in thread.stretches for station in stretch.stations if station.fails]
    assert fails == ["M-12"]
    assert [trouble.severity for trouble in thread.troubles] == ["stop"]


def test_a_hop_that_the_sentence_names_is_not_named_before_it() -> None:
    plan = example.example().plan
    row = plan.input[11]
    (hit,) = [one for one in plan.hit if one.input == row.id and one.severity != "note"]
    told = [hit.model_copy(update={"says": f"{start} is amiss."}) for start in (hit.hop, "Something")]
    assert [trouble.hop for trouble in thread_of(row, told, "48 V").troubles] == ["", hit.hop]


def test_hops_keep_their_order_where_a_lead_lies_behind_the_preamp() -> None:
    plan = example.example().plan
    hops = (
        Hop(kind="mic", name="small dynamic", tag="M-19"), Hop(kind="cable", name="microphone cable", tag="C-38"),
        Hop(kind="trunk", name="trunk", detail="line 19", tag="TR-1"),
        Hop(kind="preamp", name="two-channel preamp", detail="channel 1", tag="P-1"),
        Hop(kind="lead", name="line lead 1 m", tag="L-01"),
        Hop(kind="recorder", name="recorder", detail="line input 19", tag="REC-1"),
        Hop(kind="track", name="Backing vocal", detail="track 19"),
    )  # fmt: skip
    row = plan.input[18].model_copy(update={"thread": hops})
    stretches = thread_of(row, (), "off").stretches
    assert [[station.tag for station in stretch.stations] for stretch in stretches] == [
        ["M-19"], ["C-38"], [], ["TR-1"], ["P-1", "L-01", "REC-1"], [""],
    ]  # fmt: skip
    assert stretches[1].stations[0].name == "green, 5 m"


def test_an_adapter_behind_the_trunk_stands_with_what_it_leads_into() -> None:
    plan = example.example().plan
    hops = (
        Hop(kind="line out", name="line output"), Hop(kind="cable", name="microphone cable", tag="C-38"),
        Hop(kind="trunk", name="trunk", detail="line 19", tag="TR-1"), Hop(kind="lead", name="adapter", tag="A-05"),
        Hop(kind="recorder", name="recorder", detail="line input 19", tag="REC-1"), Hop(kind="track", name="House mix"),
    )  # fmt: skip
    stretches = thread_of(plan.input[18].model_copy(update={"thread": hops}), (), "off").stretches
    assert [[one.tag for one in stretch.stations] for stretch in stretches][3:5] == [["TR-1"], ["A-05", "REC-1"]]


def test_every_kind_of_hop_has_a_column() -> None:
    kinds = set(Hop.model_fields["kind"].annotation.__args__)  # type: ignore[union-attr]
    assert kinds - set(STANDS_IN) == {"source"}
    assert set(STANDS_IN.values()) == {column for column, _ in COLUMNS}


def test_bins_go_into_the_van_in_their_order_with_weight_and_caution() -> None:
    sheet = pack_sheet(_setting(), example.example().kit)
    assert [bin.name for bin in sheet.bins] == ["Stand bag", "Mic case", "DI box", "Cable trunk", "Line drum"]
    assert sheet.bins[0].weight == "at least ≈ 41.5 kg"
    assert "two people" in sheet.bins[0].caution
    assert sheet.detail == "94 kg; 2 units are not ours"
    hired = next(row for bin in sheet.bins for row in bin.rows if row.owner)
    assert (hired.owner, hired.count) == ("hired", "2")


def test_a_bin_that_nobody_weighed_says_so() -> None:
    documents = example.example()
    plan = documents.plan.model_copy(update={"bin": documents.plan.bin[1:]})
    sheet = pack_sheet(_setting(plan), documents.kit)
    assert (sheet.bins[1].name, sheet.bins[1].weight) == ("Mic case", "weight not known")


def test_what_lies_in_no_bin_comes_last_as_loose() -> None:
    documents = example.example()
    bare = documents.kit.model_copy(update={"bin": documents.kit.bin[1:]})  # the stand bag is no bin of this kit
    sheet = pack_sheet(_setting(), bare)
    assert [bin.name for bin in sheet.bins][-1] == "Stand bag"
    assert [bin.load for bin in sheet.bins] == [f"into the van {place} of 4" for place in (1, 2, 3, 4)] + ["loose"]
    assert sheet.summary.endswith("units in 4 bins and loose")


def test_tape_has_a_cell_for_every_socket_and_channel_and_a_flag_for_every_lead() -> None:
    sheet = tape_sheet(_setting())
    assert {band.name: len(band.cells) for band in sheet.bands} == {
        "Box B-01": 6, "Box B-02": 6, "Box TR-1": 20, "Channels of the recorder": 20,
    }  # fmt: skip
    trunk = [cell.strip.label for cell in sheet.bands[2].cells if cell.strip]
    assert trunk[:2] == ["tail of B-01, 1", "tail of B-01, 2"]
    assert trunk[12] == "Fiddle DI"
    assert len(sheet.flags) == 21  # one run is joined from two leads
    assert {flag.tag for flag in sheet.flags} == {c.tag for row in example.example().plan.input for c in row.cable}


def test_trouble_comes_with_the_worst_first_and_notes_apart() -> None:
    sheet = question_sheet(_setting())
    assert [row.severity for row in sheet.troubles] == ["stop", "warn", "warn"]
    assert [row.severity for row in sheet.notes] == ["note"]
    assert sheet.summary == "1 stop, 2 warnings, 1 note and 3 open questions"


def test_trouble_about_what_is_not_recorded_wears_a_dashed_strip() -> None:
    documents = example.example()
    hit = Hit(
        check="RC4", severity="stop", input="bell", hop="Hand bells", says="Hand bells must be recorded: add a preamp.",
        remedy="add a preamp", source="definition",
    )  # fmt: skip
    row = question_sheet(_setting(documents.plan.model_copy(update={"hit": (hit,)}))).troubles[0]
    assert row.strip is not None
    assert row.strip.left_out
    assert row.remedy == ""  # its sentence says it already


def test_signs_that_no_font_of_ours_has_are_a_caution() -> None:
    documents = example.example()
    named = documents.plan.input[0].model_copy(update={"label": "歌声"})
    plan = documents.plan.model_copy(update={"input": (named, *documents.plan.input[1:])})
    assert "has 歌 声: the machine's own were used" in question_sheet(_setting(plan)).cautions[-1]


def test_questions_are_grouped_by_whom_to_ask() -> None:
    assert [group.whom for group in question_sheet(_setting()).questions] == [
        "Ask the venue", "Ask the house engineer", "Ask the band",
    ]  # fmt: skip


def test_every_caution_is_printed_and_local_rules_come_first() -> None:
    sheet = question_sheet(_setting())
    text = pdf.all_words(typeset("questions", sheet, PRINTED))
    assert {*cautions("lifting"), *cautions("hearing"), *example.example().plan.power.cautions} <= {*sheet.cautions}
    for caution in sheet.cautions:
        assert caution in text
    assert "Local rules and whoever is responsible for the house come first." in text


def test_every_figure_of_power_and_media_is_opened() -> None:
    rows = question_sheet(_setting()).figures
    assert all(row.formula and row.source and row.sure for row in rows)
    values = {row.name: row.value for row in rows}
    assert values["Load on Kitchen and stage"] == "ask"
    assert values["On the battery"] == "≈ 26 min"
    assert values["The whole night"] == "36.3 GB"


def test_the_day_is_a_column_of_clock_times_with_what_has_no_time_to_spare() -> None:
    day = dt.date(2026, 12, 4)

    def task(name: str, begins: dt.time, minutes: float, people: int, slack_min: float) -> Task:
        start = dt.datetime.combine(day, begins)
        return Task(
            id=name, name=name, begins=start, ends=start + dt.timedelta(minutes=minutes),
            minutes=example.figure(minutes, "min", "asked of the crew", 2 if people else None), people=people, after=(),
            slack_min=slack_min, critical=slack_min == 0,
        )  # fmt: skip

    tasks = (
        task("Lead the cables", dt.time(16, 23), 35, 1, 0), task("Label lines", dt.time(17, 32), 6, 1, 32),
        task("Doors", dt.time(19), 0, 0, 0),
    )  # fmt: skip
    given = (("crew", 1), ("begin", "16:23"), ("ready by", "18:30"), (NINE_IN_TEN, "15:40"))
    ready = example.figure(40, "%", "days", 5).model_copy(
        update={"given": tuple(Given(name=name, value=value) for name, value in given)}
    )
    plan = example.example().plan.model_copy(update={"day": tasks, "ready": ready})
    sheet = day_sheet(_setting(plan))
    assert [(row.begins, row.ends, row.minutes, row.spare) for row in sheet.rows] == [
        ("16:23", "16:58", "≈ 35", "none"), ("17:32", "17:38", "≈ 6", "32"), ("19:00", "", "", ""),
    ]  # fmt: skip
    text = pdf.all_words(typeset("day", sheet, PRINTED))
    assert "Odds of being ready in time: ≈ 40 %" in text
    assert "To be ready on nine days of ten begin at 15:40." in text
    assert "; estimate" in " ".join(text.split())  # a bare ; after a name is Typst's own, and is not printed
    assert text.index("Lead the cables") < text.index("Label lines") < text.index("Doors")


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("inputs", "No inputs yet."), ("patch", "No box carries an input yet."),
        ("pack", "The pack list comes from the plan"), ("tape", "No tape yet"), ("questions", "Nothing stands open"),
        ("day", "The day comes from the plan"),
    ],
)  # fmt: skip
def test_an_empty_sheet_says_what_belongs_there(name: str, says: str) -> None:
    documents = example.example(0)
    setting = Setting(documents.plan, documents.show, documents.venue, "a4", "C", PRINTED)
    pages: dict[str, object] = {
        "inputs": input_sheet(setting), "patch": patch_sheet(setting, documents.kit),
        "pack": pack_sheet(setting, documents.kit), "tape": tape_sheet(setting),
        "questions": question_sheet(setting), "day": day_sheet(setting),
    }  # fmt: skip
    assert says in pdf.all_words(typeset(name, pages[name], PRINTED))


def test_a_bin_with_more_units_than_fit_on_a_page_loses_none() -> None:
    documents = example.example()
    many = tuple(f"X-{n:03d}" for n in range(1, 601))
    line = documents.plan.pack[0].model_copy(update={"tags": many})
    plan = documents.plan.model_copy(update={"pack": (line,)})
    pages = pdf.page_words(typeset("pack", pack_sheet(_setting(plan), documents.kit), PRINTED))
    assert len(pages) > 2
    assert [tag for tag in many if tag not in " ".join(pages)] == []

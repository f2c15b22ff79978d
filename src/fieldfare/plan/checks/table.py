"""The table of checks: read this first. Its order is the order in which hits are told."""

# ruff: noqa: E501  (one line a check, so that one page shows all)

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fieldfare.plan.checks import (
    acts,
    doubles,
    floor,
    joints,
    level,
    lines,
    phantom,
    recorder,
    splits,
    stage,
    supplies,
    things,
)
from fieldfare.plan.checks.check import Check, Fired
from fieldfare.plan.checks.context import Context
from fieldfare.plan.checks.hours import hours
from fieldfare.show.plan import Hit
from fieldfare.units.sources import PRACTICE

# fmt: off
CHECKS: tuple[Check, ...] = (
    # phantom
    Check("PH1", "stop", "No phantom reaches {hop}: {remedy}.", "IEC61938", phantom.nobody_feeds),
    Check("PH2", "stop", "Two places give phantom to {hop}: {remedy}.", "Splitters", phantom.two_feed),
    Check("PH3", "stop", "Phantom reaches {hop}, which it harms: {remedy}.", PRACTICE, phantom.harms),
    Check("PH4", "stop", "Phantom stands on the unbalanced {hop}: {remedy}.", PRACTICE, phantom.on_an_unbalanced_line),
    Check("PH5", "stop", "Phantom is planned from {hop}, which has none: {remedy}.", PRACTICE, phantom.no_supply),
    Check("PH6", "stop", "One phantom switch is asked to be on and off, {hop}: {remedy}.", PRACTICE, phantom.one_switch_two_states),
    Check("PH7", "warn", "A plain Y pulls phantom down, {hop}: {remedy}.", "Splitters", phantom.pulled_down_by_a_y),
    Check("PH8", "note", "Phantom is on for nobody at {hop}: {remedy}.", PRACTICE, phantom.for_nobody),
    Check("PH9", "note", "The house feeds phantom from the {hop}: {remedy}.", PRACTICE, phantom.fed_by_the_house),
    # levels
    Check("LV1", "stop", "At the soundcheck already {hop} clips by {detail} dB: {remedy}.", "definition", level.clips),
    Check("LV2", "warn", "Only {detail} dB is left at {hop}, and bands get louder: {remedy}.", PRACTICE, level.short_of_reserve),
    Check("LV3", "stop", "A microphone level goes into a line input, {hop}: {remedy}.", "definition", level.mic_level_into_line_input),
    Check("LV4", "stop", "A line level goes into a microphone preamp, {hop}: {remedy}.", PRACTICE, level.line_level_into_preamp),
    Check("LV5", "warn", "{hop} is {detail} dB short of gain: {remedy}.", "definition", level.short_of_gain),
    Check("LV6", "note", "{hop} needs a pad of {detail} dB: {remedy}.", "definition", level.pad_needed),
    Check("LV7", "note", "Nobody knows the level of {hop}: {remedy}.", PRACTICE, level.level_unknown),
    Check("LV8", "warn", "Noise stands only {detail} dB below the peaks of {hop}: {remedy}.", PRACTICE, level.noisy),
    Check("LV9", "note", "{hop} does not state what it takes, and meets {detail} dB: {remedy}.", PRACTICE, level.takes_unknown),
    # what lies between an instrument and its DI, and long lines
    Check("LN1", "warn", "A pickup drives {detail} of lead, {hop}: {remedy}.", PRACTICE, lines.long_pickup_lead),
    Check("LN2", "warn", "{hop} loads the pickup with {detail}: {remedy}.", "Bridging", lines.loads_the_pickup),
    Check("LN3", "warn", "A pickup loses {detail} dB at 10 kHz in {hop}: {remedy}.", "CableDamping", lines.lead_takes_the_treble),
    Check("LN4", "warn", "In {hop} {detail} run unbalanced: {remedy}.", "UnbalancedRuns", lines.long_unbalanced_line),
    Check("LN5", "warn", "{hop} loses {detail} dB at 20 kHz on its way: {remedy}.", "CableDamping", lines.line_takes_the_treble),
    # splits
    Check("SP1", "warn", "{hop} loads its mic too far, {detail}: {remedy}.", "Bridging", splits.loads_the_mic),
    Check("SP2", "warn", "{hop} joins our earth with that of the house, and may hum: {remedy}.", "Splitters", splits.joins_earths),
    Check("SP3", "warn", "Nobody has said whether {hop} are isolated: {remedy}.", "Splitters", splits.isolation_unknown),
    Check("SP4", "warn", "{hop} are not isolated, and may hum: {remedy}.", "Splitters", splits.not_isolated),
    Check("SP5", "stop", "More lines are taken than there are, {detail} from {hop}: {remedy}.", "definition", splits.too_many),
    Check("SP6", "stop", "Through {hop} the house loses its line: {remedy}.", PRACTICE, splits.house_loses_its_line),
    Check("SP7", "note", "Nobody has said whose the {hop} is: {remedy}.", PRACTICE, splits.whose_mic),
    # supplies
    Check("SU1", "warn", "Hum may come in at {hop}, which hangs on the circuit {detail}: {remedy}.", "Splitters", supplies.hum_between_supplies),
    Check("SU2", "stop", "The sound limiter cuts the recorder's circuit, {hop}: {remedy}.", "LimiterPage", supplies.limiter_cuts_the_recorder),
    Check("SU3", "warn", "Nobody has said whether a sound limiter cuts {hop}: {remedy}.", "LimiterPage", supplies.limiter_unknown),
    Check("SU4", "warn", "The recorder's circuit {hop} is shared with {detail}: {remedy}.", PRACTICE, supplies.shared_circuit),
    Check("SU5", "warn", "The circuit {hop} has no residual current device: {remedy}.", "HSEGS50", supplies.no_residual_current_device),
    Check("SU6", "warn", "No battery carries {hop} through a power cut: {remedy}.", PRACTICE, supplies.no_battery),
    Check("SU7", "note", "No mains lead of the kit reaches the socket {hop}: {remedy}.", PRACTICE, supplies.no_lead),
    # connectors
    Check("CN1", "stop", "{detail} does not go into {hop}: {remedy}.", "AES14", joints.do_not_mate),
    Check("CN2", "stop", "{hop} is needed and not packed: {remedy}.", "definition", joints.not_packed),
    Check("CN3", "warn", "An instrument lead lies where a balanced cable belongs, {hop}: {remedy}.", PRACTICE, joints.instrument_lead_on_a_line),
    # nothing twice, nothing that is not there
    Check("DU1", "stop", "{hop} is used twice, by {detail}: {remedy}.", "definition", doubles.unit),
    Check("DU2", "stop", "{hop} is used twice, by {detail}: {remedy}.", "definition", doubles.socket),
    Check("DU3", "stop", "{hop} is used twice, by {detail}: {remedy}.", "definition", doubles.trunk_line),
    Check("DU4", "stop", "{hop} is used twice, by {detail}: {remedy}.", "definition", doubles.preamp_channel),
    Check("DU5", "stop", "{hop} is used twice, by {detail}: {remedy}.", "definition", doubles.channel),
    Check("DU6", "warn", "{hop} is worn twice, by {detail}: {remedy}.", "definition", doubles.label),
    Check("DU7", "warn", "{hop} is worn twice, by {detail}: {remedy}.", "definition", doubles.number),
    Check("DU8", "stop", "There is no {hop}: {remedy}.", "definition", doubles.socket_not_there),
    Check("DU9", "stop", "There is no {hop}: {remedy}.", "definition", doubles.line_not_there),
    Check("DU10", "stop", "There is no {hop}: {remedy}.", "definition", doubles.channel_not_there),
    Check("DU11", "stop", "There is no {hop}: {remedy}.", "definition", doubles.preamp_not_there),
    # cable on the floor
    Check("FL1", "stop", "{hop} does not reach with {detail}: {remedy}.", "definition", floor.does_not_reach),
    Check("FL2", "warn", "{hop} reaches with {detail} but leaves no slack: {remedy}.", "StageSetup", floor.no_slack),
    Check("FL3", "warn", "{hop} have {detail} joins: {remedy}.", PRACTICE, floor.many_joins),
    Check("FL4", "warn", "{hop} are joined where people walk, at {detail}: {remedy}.", PRACTICE, floor.join_in_the_way),
    Check("FL5", "stop", "{hop} crosses the fire route {detail}: {remedy}.", "EventSafety", floor.crosses_a_fire_route),
    Check("FL6", "warn", "{hop} crosses {detail}: {remedy}.", PRACTICE, floor.crosses_a_walkway),
    Check("FL7", "stop", "{hop} of {detail} does not reach the recordist: {remedy}.", "definition", floor.trunk_too_short),
    Check("FL8", "stop", "The tail of {hop}, {detail}, is too short: {remedy}.", "definition", floor.tail_too_short),
    Check("FL9", "warn", "{hop} stands on {detail}: {remedy}.", PRACTICE, floor.box_in_the_way),
    Check("FL10", "stop", "{hop} stands on {detail}, which must stay clear: {remedy}.", "EventSafety", floor.mic_in_the_way),
    # units
    Check("TH1", "stop", "{hop} is marked faulty ({detail}): {remedy}.", PRACTICE, things.faulty),
    Check("TH2", "stop", "No kit holds {hop}: {remedy}.", "definition", things.not_in_the_kit),
    Check("TH3", "stop", "{hop} has no stand: {remedy}.", "definition", things.no_stand),
    Check("TH4", "warn", "{hop} cannot hold its mic at {detail}: {remedy}.", "definition", things.stand_does_not_reach),
    Check("TH5", "note", "{hop} {detail} high: {remedy}.", "StageSetup", things.high_boom),
    Check("TH6", "warn", "{hop} must be a matched pair: {remedy}.", PRACTICE, things.pair_must_match),
    Check("TH7", "note", "{hop} would rather be a matched pair: {remedy}.", PRACTICE, things.pair_should_match),
    Check("TH8", "warn", "{hop} are taken with two different things: {remedy}.", PRACTICE, things.pair_of_two_kinds),
    Check("TH9", "warn", "Only one side of a stereo pair is kept, {hop}: {remedy}.", PRACTICE, things.half_a_pair),
    Check("TH10", "note", "The spare of {hop} has a job, {detail}: {remedy}.", PRACTICE, things.spare_is_used),
    Check("TH11", "stop", "{hop} is marked dead: {remedy}.", PRACTICE, things.dead_place),
    # the recording as a whole
    Check("RC1", "stop", "{hop} cannot record at {detail}: {remedy}.", "definition", recorder.rate),
    Check("RC2", "stop", "{hop} cannot record {detail}: {remedy}.", "definition", recorder.bits),
    Check("RC3", "stop", "There is no recorder in {hop}: {remedy}.", "definition", recorder.no_recorder),
    Check("RC4", "stop", "{hop} must be recorded and {detail}: {remedy}.", "definition", recorder.must_left_out),
    Check("RC5", "note", "If it comes after all, {hop} has no place, because {detail}: {remedy}.", PRACTICE, recorder.no_room_for_a_guest),
    Check("RC6", "note", "All {detail} channels of {hop} are taken: {remedy}.", PRACTICE, recorder.no_spare_channel),
    Check("RC7", "warn", "Nothing in {hop} hears the room: {remedy}.", PRACTICE, recorder.nothing_hears_the_room),
    Check("RC8", "warn", "After {hop} the recording lies in one place only: {remedy}.", PRACTICE, recorder.one_copy),
    Check("RC9", "warn", "There are only {detail} good cards and discs in {hop}: {remedy}.", PRACTICE, recorder.not_enough_media),
    # from act to act
    Check("CO1", "warn", "The changeover to {hop} takes {detail}: {remedy}.", "PERTSolved", acts.changeover_too_short),
    Check("CO2", "note", "The changeover to {hop} is tight, {detail}: {remedy}.", "PERTSolved", acts.changeover_tight),
    # what the microphones hear
    Check("ST1", "warn", "{hop} hears the rest {detail} dB louder than its own source: {remedy}.", PRACTICE, stage.drowned),
    Check("ST2", "note", "{hop} stands {detail} off its axis, where it hears well: {remedy}.", "HyperPhysics", stage.wedge_in_the_lobe),
    Check("ST3", "note", "{hop} stand {detail}, nearer than three to one: {remedy}.", "MasterHandbook", stage.three_to_one),
    Check("ST4", "warn", "{hop} is written {detail} off the stage and out of the room: {remedy}.", PRACTICE, stage.far_off),
)
# fmt: on


def run_checks(context: Context) -> tuple[Hit, ...]:
    """Run every check of the table over a plan, and over each set in which guests of other acts are on its rows.

    Parameters
    ----------
    context
        What the plan has made, with the documents.

    Returns
    -------
    Every place where a check fired, in the order of the table; of a set with guests, what fired on these.
    """
    then = tuple(hours(context))
    return tuple(dict.fromkeys(hit for check in CHECKS for hit in _hits(check, context, then)))


def _hits(check: Check, context: Context, then: Iterable[tuple[Context, frozenset[str]]]) -> Iterator[Hit]:
    yield from (_told(check, fired) for fired in check.find(context))
    for one, guests in then:
        yield from (_told(check, fired) for fired in check.find(one) if fired.input in guests)


def _told(check: Check, fired: Fired) -> Hit:
    return Hit(
        check=check.id,
        severity=check.severity,
        input=fired.input,
        hop=fired.hop,
        says=_capital(check.says.format(hop=fired.hop, remedy=fired.remedy, detail=fired.detail)),
        remedy=fired.remedy,
        source=check.source,
    )


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]

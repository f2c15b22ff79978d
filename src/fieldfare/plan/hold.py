"""Holding a plan as it stands: pins that keep everything where it is, so that a change on the night stays small."""

from __future__ import annotations

from fieldfare.show.plan import Plan
from fieldfare.show.show import Pin, Show


def held(show: Show, plan: Plan) -> Show:
    """Return the show with a pin for every row of its plan: unit, stand, box, line and channel stay.

    Pins that are there already keep what they say.
    """
    pins = {pin.input: pin for pin in show.pin}
    for row in plan.input:
        there = pins.get(row.id, Pin(input=row.id))
        stands = {
            "use": row.unit.tag if row.unit else "",
            "stand": row.stand.tag if row.stand else "",
            "box": row.box if any(box.tag == row.box for box in plan.box) else "",
            "line": row.trunk_line or None,
            "channel": row.channel,
            "keep": True,
        }
        said = {name: value for name, value in stands.items() if value and not getattr(there, name)}
        pins[row.id] = there.model_copy(update=said)
    return show.model_copy(update={"pin": tuple(pins.values())})

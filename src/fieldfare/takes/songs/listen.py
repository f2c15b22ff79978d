"""Listening to a take once for its songs: levels, what is played, the pulse, and what the edges are found in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.drawn import Role
from fieldfare.takes.axis import Axis
from fieldfare.takes.songs.activity import Activity, activity_of, own_tracks
from fieldfare.takes.songs.between import kinds_of
from fieldfare.takes.songs.edges import Edges, edges_of
from fieldfare.takes.songs.levels import Levels, levels_of
from fieldfare.takes.songs.pulse import Pulse, pulse_of, with_pulse

Tell = Callable[[float], None]


@dataclass(frozen=True)
class Heard:
    """A take as it was listened to."""

    axis: Axis
    levels: Levels
    activity: Activity
    pulse: Pulse
    edges: Edges
    kinds: NDArray[np.int64]  # (frames,): what each would be between songs

    @property
    def counting(self) -> NDArray[np.bool_]:
        """Tracks in which somebody may count a song in."""
        roles = np.array([track.role in ("close", "overhead", "voice") for track in self.axis.track], np.bool_)
        return roles if roles.any() else ~roles


def listen(axis: Axis, tell: Tell | None = None) -> Heard:
    """Listen to a take.

    Parameters
    ----------
    axis
        The take.
    tell
        Called with the share that is done, from 0 to 1, from several threads, one at a time.
    """
    return heard_of(axis, levels_of(axis, tell), [track.role for track in axis.track])


def heard_of(axis: Axis, levels: Levels, roles: Sequence[Role]) -> Heard:
    """Work out from levels what was played."""
    activity = activity_of(levels, roles)
    pulse = pulse_of(levels, roles)
    activity = with_pulse(activity, pulse)
    edges = edges_of(levels, own_tracks(roles), pulse)
    return Heard(axis, levels, activity, pulse, edges, kinds_of(levels, activity, roles))

"""Renders the recording of a planned show: dry sounds, the room, the recorder, faults, and the truth beside it."""

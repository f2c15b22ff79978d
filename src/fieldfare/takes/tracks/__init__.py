"""Checks recorded files: groups them into takes, matches their tracks to the plan, measures them and tells findings."""

from fieldfare.takes.tracks.run import Listener, check_folder

__all__ = ["Listener", "check_folder"]

"""All pages of the desk, and the template of each context."""

from __future__ import annotations

BASE = "/shows/midwinter-dance"

PAGES = (
    "/",
    "/shades.css",
    "/share",
    "/pair",
    *(
        f"{BASE}/{name}"
        for name in (
            "lineup", "inputs", "inputs?open=kick", "stage", "stage/try?what=source&name=Fiddle&x=0&y=1", "advance",
            "patch", "power", "pack", "sheets", "kit", "history", "now", "check", "check?order=stage",
            "check/kick/swap", "count", "count?way=back", "marks", "offload", "tracks", "songs",
            "watch", "kit/units/M-01", "timing", "rough", "pictures", "handover",
        )
    ),
)  # fmt: skip

CONTEXTS = {
    "ShowsPage": "shows.html",
    "SharePage": "share.html",
    "PairPage": "pair.html",
    "LineupPage": "lineup.html",
    "InputsPage": "inputs.html",
    "StagePage": "stage.html",
    "StagePart": "stage_drawing.html",
    "AdvancePage": "advance.html",
    "PatchPage": "patch.html",
    "PowerPage": "power.html",
    "PackPage": "pack.html",
    "SheetsPage": "sheets.html",
    "KitPage": "kit.html",
    "HistoryPage": "history.html",
    "NowPage": "now.html",
    "CheckPage": "check.html",
    "SwapPage": "swap.html",
    "CountPage": "count.html",
    "MarksPage": "marks.html",
    "OffloadPage": "offload.html",
    "TracksPage": "tracks.html",
    "SongsPage": "songs.html",
    "JobPart": "job.html",
    "UnitPage": "unit.html",
    "WatchPage": "watch.html",
    "TimingPage": "timing.html",
    "RoughPage": "rough.html",
    "PicturesPage": "pictures.html",
    "HandoverPage": "handover.html",
    "FaultPage": "fault.html",
    "FaultPart": "fault_lines.html",
}

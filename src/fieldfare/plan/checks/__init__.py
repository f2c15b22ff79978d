"""The checks of the trade: one small function each, listed in `table.py`; `run_checks` makes the sentences."""

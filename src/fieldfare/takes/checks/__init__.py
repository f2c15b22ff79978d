"""Findings: the faults that measured tracks show, alone, side by side and against the plan. One table of checks."""

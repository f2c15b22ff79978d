"""The choice: one exact optimisation of which inputs are kept and which pieces each of them gets."""

from fieldfare.plan.choice.choose import choose

__all__ = ["choose"]

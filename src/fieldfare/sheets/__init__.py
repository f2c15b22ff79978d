"""Floor 5: the papers. One module a sheet makes plain data from the plan; one Typst template sets it."""

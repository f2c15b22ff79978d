"""Floor 3: show, kit and venue become a plan. A pure function of documents."""

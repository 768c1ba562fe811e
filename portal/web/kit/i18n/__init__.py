"""Languages, units and the filters of the templates."""

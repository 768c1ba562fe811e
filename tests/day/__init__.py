"""A generated working day through the verbs, with the money counted beside it."""

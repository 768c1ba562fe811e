"""Tables, engine and migrations, without rules. Used by orders, notices and cli alone."""

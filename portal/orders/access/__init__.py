"""Who may do what: signing in, sessions, rate limits."""

"""Every page in every state, judged in a real browser: access, layout, weight, validity."""

"""From check-in to hand-back: what was found, what the customer answered, lists."""

"""Letters, and the outbox that delivers them."""

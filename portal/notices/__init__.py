"""Letters, and the outbox by which they surely leave."""

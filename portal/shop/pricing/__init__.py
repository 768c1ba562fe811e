"""What an order costs, and why."""

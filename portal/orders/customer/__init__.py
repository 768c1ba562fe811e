"""What the customer sees after booking: status, slip, inspection sheet."""

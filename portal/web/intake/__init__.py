"""The customer's seven pages."""

"""A trade customer's own page. Opened by a link from a letter; staff have no way in here."""

"""From the first page to the booking: drafts, their view, questions."""

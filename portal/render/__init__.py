"""Words at the edge: messages, sums, days and measures as one reader has them."""

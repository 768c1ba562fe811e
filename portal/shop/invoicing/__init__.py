"""Receipts, invoices and credit notes: their sums, numbers and words, and the takings of a day."""

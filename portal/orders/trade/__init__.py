"""A trade customer's own page: its lists, its jobs, its invoices. Nothing of anybody else."""

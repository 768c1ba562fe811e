"""What happens to a job: one verb a function, one transaction a verb, and read models for pages."""

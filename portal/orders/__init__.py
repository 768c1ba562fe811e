"""What happens to a job: use cases, one function and one transaction each, and views for pages."""

"""The status page."""


def show(token: str) -> str:
    """Show where the job is."""
    return token

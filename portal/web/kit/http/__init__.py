"""Requests and answers: sessions, guards, errors, assets, security."""

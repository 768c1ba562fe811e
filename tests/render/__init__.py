"""Tests of what makes words of messages."""

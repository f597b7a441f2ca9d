"""A voice-and-photo assisted field notebook: readings in, a judged and lasting job log out."""

__version__ = "0.1.0"

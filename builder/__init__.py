"""Plyleaf: chapters with chess moves in, a proved site and booklet out."""

__version__ = "0.1.0"

"""Firings: schedules, logs, cones and heat work."""

"""What the fire did: cones, schedules, logs, heat work."""

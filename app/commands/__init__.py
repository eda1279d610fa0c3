"""What each command of ``glostbook`` does; `app.cli` only parses and dispatches."""

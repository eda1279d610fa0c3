"""The only modules of `app` that call `vision` and `catalog`; views and commands call these."""

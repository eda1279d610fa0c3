"""Unloading a kiln: photos taken in, read one after the other by a program of its own, filed, undone."""

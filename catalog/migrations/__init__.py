"""Steps from each format of the catalogue to the next. Set up in code; run when a catalogue is opened.

To add one: write the dump of the present format if ``tests/catalog/formats`` lacks it (``write_format.py``
beside it), change `catalog.tables`, add ``versions/NNNN_what.py`` that brings the old tables there, and add
its number to `catalog.migrate.KNOWN`. The tests compare models and steps, and open every dump.
"""

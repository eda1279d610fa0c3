"""Steps from each format of the catalogue to the next. Set up in code; run when a catalogue is opened."""

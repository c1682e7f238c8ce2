"""Music as players have it, ABC, MusicXML or MIDI, read as tunes of single notes in order."""

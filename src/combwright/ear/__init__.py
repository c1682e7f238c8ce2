"""Reeds heard by microphone: how high they sound, how sure that is, and which seat it was."""

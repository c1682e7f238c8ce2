"""Repertoires: the tunes that a customer plays, kept, looked at, and shown as tab."""

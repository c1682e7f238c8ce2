"""The ear at the bench: reeds heard live, whole takes, microphones and their clocks."""

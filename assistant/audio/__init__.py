"""Sound in and out: capture, playback, the gate between them, tones.

The sound library loads only when a device opens.
"""

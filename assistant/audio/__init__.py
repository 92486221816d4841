"""Sound in and out: capture, playback, files, tones.

The sound library loads only when a device opens.
"""

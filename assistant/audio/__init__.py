"""Sound in and out: capture, playback, the gate between them, tones; the sound library loads only when a device opens."""

"""The lamp, the buzzer, the foot switch and the jug scale. Each is absent unless the settings name it."""

"""Hands and hardware: the lamp, the buzzer, the foot switch and the jug scale. All absent unless the settings name them."""

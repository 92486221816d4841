"""What differs from flour to flour: grain, moisture by the air, doughs without gluten. Pure."""

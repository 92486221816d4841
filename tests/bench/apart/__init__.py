"""What processes of their own cost, and what becomes of faults in them: on a real station, in real time."""

"""What an export of a long journal takes."""

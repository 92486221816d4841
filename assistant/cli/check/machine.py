"""The machine itself, as `crumbcall check` finds it: supply, heat, card."""

from assistant.cli.check.finding import Finding
from assistant.devices.machine_health import MachineHealth

_DO = {
    "power supply": "Take a supply and a cable made for this board; without that it may restart by itself.",
    "cooling": "Give it air, and keep it away from the oven; it hears late while it is hot.",
    "card": "Make a copy with crumbcall ledger backup FILE, then make room or take another card.",
}


def machine(health: MachineHealth) -> list[Finding]:
    """A finding for each part of the machine that can be read here."""
    wrong = health.problems()
    well = {
        "power supply": None if health.throttled is None else "no under-voltage since it was switched on",
        "cooling": None if health.temperature_c is None else f"{health.temperature_c:.0f} C",
        "card": None if health.free_mb is None else f"{health.free_mb:,.0f} MB free",
    }
    return [
        Finding(
            part=part, works=part not in wrong, needed=False, found=wrong.get(part, found or ""), do=_DO[part]
        )
        for part, found in well.items()
        if found is not None or part in wrong
    ]

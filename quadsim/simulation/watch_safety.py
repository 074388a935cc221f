"""What the flight loop notices of safety: a lost link, a low battery, what is done about them, motors off and on."""

from __future__ import annotations

from quadsim.jit import inner
from quadsim.simulation.carried import Note
from quadsim.simulation.notes import note

ACTING = 2.0
"""`battery_alert` while a low battery is acted on."""


@inner
def _note_link(signals, carried):
    """The link is lost or back; something is done about it, or control is given back."""
    if signals.link != carried.link_seen:
        note(carried, Note.LINK_BACK if signals.link > 0.5 else Note.LINK_LOST, 0.0)
        carried.link_seen = signals.link
    if signals.link_action != carried.action_seen:
        note(carried, Note.LINK_ACTS, signals.link_action)
        carried.action_seen = signals.link_action


@inner
def _note_mode(signals, carried):
    """A safety action changes what it flies: comes down now instead of flying home."""
    acting = signals.link_action > 0.0 or signals.battery_alert == ACTING
    if acting and signals.armed > 0.0:
        note(carried, Note.SAFETY_MODE, signals.mode_in_force)
    carried.mode_seen = signals.mode_in_force


@inner
def watch_safety(signals, carried):
    """Note what has changed since the last look."""
    if signals.link != carried.link_seen or signals.link_action != carried.action_seen:
        _note_link(signals, carried)
    if signals.battery_alert != carried.alert_seen:
        note(carried, Note.BATTERY_ALERT, signals.battery_alert)
        carried.alert_seen = signals.battery_alert
    if signals.mode_in_force != carried.mode_seen:
        _note_mode(signals, carried)
    if signals.armed != carried.armed_seen:
        note(carried, Note.MOTORS_ON if signals.armed > 0.0 else Note.MOTORS_OFF, 0.0)
        carried.armed_seen = signals.armed

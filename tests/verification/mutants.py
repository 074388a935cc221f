"""Copies of the plant's source in plain Python, each with one thing wrong: the checks must notice every one."""

from __future__ import annotations

import builtins
import types
from collections.abc import Callable
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import checks
import checks_air
import checks_drive
import checks_payload
import checks_vibration

COPIED = (
    "quadsim.kinematics.quaternion", "quadsim.dynamics.rigid_body", "quadsim.dynamics.rotor", "quadsim.dynamics.airframe",
    "quadsim.dynamics.interference", "quadsim.dynamics.battery", "quadsim.dynamics.motor_heat", "quadsim.dynamics.drive",
    "quadsim.dynamics.propulsion", "quadsim.dynamics.ground", "quadsim.dynamics.payload", "quadsim.dynamics.derivative",
    "quadsim.noise", "quadsim.environment.profile", "quadsim.environment.turbulence", "quadsim.environment.wind",
    "quadsim.sensors.clock", "quadsim.sensors.inertial", "quadsim.sensors.inertial_bias",
    "quadsim.sensors.vibration", "quadsim.sensors.barometer", "quadsim.sensors.satellite",
    "quadsim.sensors.magnetometer", "quadsim.sensors.rangefinder", "quadsim.sensors.telemetry", "quadsim.sensors.slow",
)  # fmt: skip


def source_of(module: str) -> str:
    found = find_spec(module)
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).read_text(encoding="utf-8")


def plain_kernel(function: Callable | None = None, **_: Any) -> Any:
    """In place of the compiler: nothing."""
    return function if function is not None else plain_kernel


def plain_derivative(module: str = "", old: str = "", new: str = "") -> Callable:
    """`full_derivative` of a plain-Python copy of the physics in which `old` in `module` reads `new`."""
    return plain_modules(module, old, new)("quadsim.dynamics.derivative").full_derivative


def plain_vibration(module: str = "", old: str = "", new: str = "") -> Callable:
    """`update_vibration` of such a copy."""
    return plain_modules(module, old, new)("quadsim.sensors.vibration").update_vibration


def plain_modules(
    module: str = "", old: str = "", new: str = "", copied: tuple[str, ...] = COPIED
) -> Callable[[str], Any]:
    """Modules by name of a plain-Python copy of the physics in which `old` in `module` reads `new`."""
    made: dict[str, types.ModuleType] = {}

    def importer(name: str, *rest: Any) -> Any:
        if name == "quadsim.jit":
            return types.SimpleNamespace(kernel=plain_kernel, inner=plain_kernel, JIT=False)
        return copy(name) if name in copied else builtins.__import__(name, *rest)

    def copy(name: str) -> types.ModuleType:
        if name not in made:
            text = source_of(name)
            if name == module:
                assert text.count(old) == 1, f"{name} has {text.count(old)} times {old!r}; renew this mutant"
                text = text.replace(old, new)
            made[name] = types.ModuleType(name)
            made[name].__dict__["__builtins__"] = {**vars(builtins), "__import__": importer}
            exec(compile(text, name, "exec"), made[name].__dict__)
        return made[name]

    return copy


@dataclass(frozen=True)
class Mutant:
    """What is wrong, where, and the check that must notice."""

    wrong: str
    module: str
    old: str
    new: str
    check: Callable[[Callable], None]

    def derivative(self) -> Callable:
        return plain_derivative("quadsim." + self.module, self.old, self.new)

    def vibration(self) -> Callable:
        return plain_vibration("quadsim." + self.module, self.old, self.new)


PACK, HEAT = "dynamics.battery", "dynamics.motor_heat"
BODY, ROTOR, AIR = "dynamics.rigid_body", "dynamics.rotor", "dynamics.airframe"
NEAR, BOTH = "dynamics.interference", "dynamics.propulsion"
DRIVE, GROUND, WHOLE, TURN = (
    "dynamics.drive",
    "dynamics.ground",
    "dynamics.derivative",
    "kinematics.quaternion",
)
LOAD = "dynamics.payload"
MUTANTS = (
    Mutant("Euler's cross product turned round", BODY, "tx, ty, tz = mx - (q * c", "tx, ty, tz = mx + (q * c", checks.tumbling_body),
    Mutant("Euler's cross product missing about z", BODY, " mz - (p * b - q * a) - drive", " mz - drive", checks.tumbling_body),
    Mutant("torque from outside turned round", WHOLE, "mz + held.outside_torque[2]", "mz - held.outside_torque[2]", checks.torque_from_outside),
    Mutant("torque from outside about the wrong axis", WHOLE, "mx + held.outside_torque[0]", "mx + held.outside_torque[1]", checks.torque_from_outside),
    Mutant("product of inertia forgotten", BODY, "inertia[0, 0] * p + inertia[0, 1] * q", "inertia[0, 0] * p", checks.full_tensor),
    Mutant("rotors' gyroscopic term missing", BODY, "inertia[2, 2] * r + h", "inertia[2, 2] * r", checks.rotor_gyroscopic_moment),
    Mutant("reaction of the motors missing", BODY, " - drive\n", "\n", checks.reaction_of_a_steady_rotor),
    Mutant("reaction of the motors of wrong sign", BODY, " - drive\n", " + drive\n", checks.yaw_reaction_to_rotor_acceleration),
    Mutant("rotors do not feel the body's yaw", BODY, " - held.turning[i] * yaw_acceleration", "", checks.spinning_rotors_as_bodies),
    Mutant("air torque drives the rotor", BODY, "- held.rotor_torque[i]", "+ held.rotor_torque[i]", checks_drive.motor_with_propeller),
    Mutant("rotor spin counted the wrong way", BOTH, "turning += sense", "turning -= sense", checks.rotor_gyroscopic_moment),
    Mutant("thrust rolls the wrong way", ROTOR, "- ry * thrust", "+ ry * thrust", checks.thrust_turns_the_right_way),
    Mutant("download forgotten", ROTOR, " * (1.0 - plant.download[i])", "", checks_payload.download_lowers_the_thrust),
    Mutant("thrust pitches the wrong way", ROTOR, "+ rx * thrust", "- rx * thrust", checks.thrust_turns_the_right_way),
    Mutant("thrust points down", BOTH, "fz - thrust", "fz + thrust", checks.thrust_turns_the_right_way),
    Mutant("in-plane force pushes on", ROTOR, "unit = -aside", "unit = aside", checks.rotor_wrench_in_motion),
    Mutant("hub rolls alike for both senses", BOTH, "* o * sense, g[10", "* o, g[10", checks.rotor_wrench_in_motion),
    Mutant("hub pitches nose down", ROTOR, "- across * hy", "+ across * hy", checks.rotor_wrench_in_motion),
    Mutant("slipstream pushes on", BOTH, "g[8, i] * o - held", "g[8, i] * o + held", checks.rotor_wrench_in_motion),
    Mutant("installed loss stays in wind", NEAR, "1.0 - LOSS_SWEPT_AWAY * along", "1.0 - 0.0 * along", checks_air.installed_loss_fades),
    Mutant("climb sweeps the wake away", NEAR, "along + climb * climb * r", "along", checks_air.loss_in_a_climb),
    Mutant("ground sucks", NEAR, "return 1.0 / (1.0 - share)", "return 1.0 / (1.0 + share)", checks_air.ground_lifts),
    Mutant("ground effect of one rotor only", NEAR, "share += 2.0 * body_lift", "share += 0.0 * body_lift", checks_air.ground_lifts),
    Mutant("in-plane forces yaw the wrong way", ROTOR, "my, rx * dy", "my, -rx * dy", checks.rotor_wrench_in_motion),
    Mutant("hubs do not feel the roll rate", ROTOR, "-(w + p * ry - q * rx)", "-(w - q * rx)", checks.rotor_wrench_in_motion),
    Mutant("descent taken for climb", ROTOR, "-(w + p * ry", "(w + p * ry", checks.rotor_wrench_in_motion),
    Mutant("drag without its half", AIR, "-0.5 * plant", "-1.0 * plant", checks.fall_with_drag),
    Mutant("drag moment of wrong sign", AIR, "cy * fz - cz * fy", "cz * fy - cy * fz", checks.drag_at_its_centre),
    Mutant("drag centre does not turn along", AIR, "u + q * cz - r * cy", "u", checks.drag_at_its_centre),
    Mutant("no-load current helps the motor", DRIVE, "(current - lost)", "(current + lost)", checks_drive.motor_points),
    Mutant("iron loss forgotten", DRIVE, " + plant.no_load_slope * o", "", checks_drive.warm_motors_on_a_cold_pack),
    Mutant("windings of one temperature", DRIVE, "held.winding_temperature[i], plant)", "held.winding_temperature[0], plant)", checks_drive.warm_motors_on_a_cold_pack),
    Mutant("winding cools as it warms", HEAT, "1.0 + plant.copper_per_kelvin", "1.0 - plant.copper_per_kelvin", checks_drive.warm_motors_on_a_cold_pack),
    Mutant("ESC without resistance", HEAT, " * warm + plant.esc_resistance", " * warm", checks_drive.warm_motors_on_a_cold_pack),
    Mutant("cold lowers the resistance", PACK, "(1.0 / t - 1.0 / ROOM)", "(1.0 / ROOM - 1.0 / t)", checks_drive.warm_motors_on_a_cold_pack),
    Mutant("leads grow with the cold", PACK, "plant.pack_resistance * mean + plant.lead_resistance", "(plant.pack_resistance + plant.lead_resistance) * mean", checks_drive.warm_motors_on_a_cold_pack),
    Mutant("low charge without resistance", PACK, "math.exp(-LOW_CHARGE_RATE", "0.0 * math.exp(-LOW_CHARGE_RATE", checks_drive.warm_motors_on_a_cold_pack),
    Mutant("capacity grows in the cold", PACK, "max(ROOM - max(temperature, COLDEST), 0.0)", "min(max(temperature, COLDEST) - ROOM, 0.0)", checks_drive.warm_motors_on_a_cold_pack),
    Mutant("weak cell as full as the others", PACK, "(1.0 - charge) / (1.0 - shortfall)", "(1.0 - charge)", checks_drive.weak_cell_in_the_pack),
    Mutant("weak cell of healthy resistance", PACK, "(1.0 + held.cell_excess) * cold", "cold", checks_drive.weak_cell_in_the_pack),
    Mutant("every cell weak", PACK, "(cells - 1.0) * volts + low", "cells * low", checks_drive.weak_cell_in_the_pack),
    Mutant("pack current is motor current", BOTH, "drawn += duty * current", "drawn += current", checks_drive.battery_feeds_motors),
    Mutant("relaxation raises the voltage", DRIVE, "voltage - x[X.RELAXATION]", "voltage + x[X.RELAXATION]", checks_drive.battery_feeds_motors),
    Mutant("back-emf sags the pack", DRIVE, "(source + emf)", "(source - emf)", checks_drive.battery_feeds_motors),
    Mutant("battery charges in flight", PACK, "return -current", "return current", checks_drive.battery_discharges),
    Mutant("RC pair never relaxes", PACK, "(current - relaxing)", "current", checks_drive.battery_discharges),
    Mutant("friction pushes on", GROUND, "grip = -friction", "grip = friction", checks_drive.ground_opposes_motion),
    Mutant("damper feeds the bounce", GROUND, "+ damping * min", "- damping * min", checks_drive.ground_opposes_motion),
    Mutant("feet tip the craft over", GROUND, "mx + b * bz", "mx - b * bz", checks_drive.ground_opposes_motion),
    Mutant("line pushes the craft up", LOAD, "dn + pn, de + pe, dd + pd", "dn - pn, de - pe, dd - pd", checks_payload.line_pulls_at_its_hook),
    Mutant("line pulls the load down", LOAD, "dn - pn, de - pe, dd - pd,", "dn + pn, de + pe, dd + pd,", checks_payload.line_pulls_at_its_hook),
    Mutant("line's moment of wrong sign", LOAD, "b * bz - c * by, c * bx - a * bz", "c * by - b * bz, a * bz - c * bx", checks_payload.line_pulls_at_its_hook),
    Mutant("line pulls at the centre of mass", LOAD, "c * bx - a * bz", "0.0", checks_payload.release_at_hover),
    Mutant("hook does not turn along", LOAD, "du, dv, dw = q * c - r * b, r * a - p * c, p * b - q * a", "du = dv = dw = 0.0", checks_payload.line_pulls_at_its_hook),
    Mutant("line pushes when slack", LOAD, "if stretch > 0.0:", "if True:", checks_payload.slack_line_pulls_nothing),
    Mutant("line damper pushes", LOAD, "plant.line_damping * lengthening, 0.0)", "plant.line_damping * lengthening, -1e9)", checks_payload.slack_line_pulls_nothing),
    Mutant("line damper feeds the bounce", LOAD, "* stretch + plant.line_damping", "* stretch - plant.line_damping", checks_payload.line_pulls_at_its_hook),
    Mutant("line has drag along itself", LOAD, "vd - along * ed", "vd", checks_payload.wind_on_line_and_load),
    Mutant("load flies into the wind", LOAD, "        north - held.wind[0]", "        north + held.wind[0]", checks_payload.wind_on_line_and_load),
    Mutant("load falls through the ground", LOAD, "(fd + dd + gd)", "(fd + dd)", checks_payload.load_stands_on_the_ground),
    Mutant("load lies deeper than its base", LOAD, "depth = x[X.LOAD_POSITION + 2] + plant", "depth = x[X.LOAD_POSITION + 2] - plant", checks_payload.load_stands_on_the_ground),
    Mutant("load has the craft's mass", LOAD, "1.0 / plant.load_mass", "1.0 / plant.mass", checks_payload.towed_at_one_metre_per_second_squared),
    Mutant("line does not pull the craft", WHOLE, "fz + lz", "fz", checks_payload.release_at_hover),
    Mutant("line does not turn the craft", WHOLE, "my + oy", "my", checks_payload.release_at_hover),
    Mutant("hubs sink into the ground", GROUND, "range(8)", "range(4)", checks_drive.lies_on_its_back),
    Mutant("gravity forgotten", WHOLE, " * per_mass + plant.gravity", " * per_mass", checks.free_fall),
    Mutant("sideways force of wrong sign", WHOLE, "(r10 * fx + r11 * fy + r12 * fz)", "(r10 * fx + r11 * fy - r12 * fz)", checks.tilted_thrust_accelerates_sideways),
    Mutant("wind blows the other way", WHOLE, "x[X.VELOCITY] - held.wind[0]", "x[X.VELOCITY] + held.wind[0]", checks.drag_at_its_centre),
    Mutant("attitude turns the wrong way about y", TURN, "0.5 * (w * q + z * p", "0.5 * (-w * q + z * p", checks.constant_rate),
    Mutant("rotation matrix half transposed", TURN, "2.0 * (xz + wy)", "2.0 * (xz - wy)", checks.tilted_thrust_accelerates_sideways),
    Mutant("world rates instead of body rates", TURN, "(w * p + y * r - z * q)", "(w * p - y * r + z * q)", checks.symmetric_top),
)  # fmt: skip
CHECKS = tuple(
    dict.fromkeys(
        [m.check for m in MUTANTS]
        + [checks.momentum_stays, checks_drive.stands_still, checks_payload.energy_of_a_bouncing_load_stays]
    )
)
"""Every check, each once."""

SHAKE = "sensors.vibration"
VIBRATION_MUTANTS = (
    Mutant("flexible mode not driven before", SHAKE, " + s[6] * before", "", checks_vibration.mode_steps_exactly),
    Mutant("flexible mode of half the damping", SHAKE, "carried.mode_drive[axis] = drive", "carried.mode_drive[axis] = drive\n    carried.mode[axis, 1] *= 1.0 + 0.03 * 2.0 * math.pi * 90.0 * sensors.imu_period", checks_vibration.mode_passes_what_a_soft_mount_passes),
    Mutant("flexible mode pushed along instead of left behind", SHAKE, "-sensors.mode_share", "sensors.mode_share", checks_vibration.two_inertias_on_a_spring),
    Mutant("soft mount under a tone of half the damping", SHAKE, "2.0 * z * w * speed", "z * w * speed", checks_vibration.soft_mount_under_a_rotor),
    Mutant("imbalance grows with the speed, not its square", SHAKE, "return imbalance * speed * speed", "return imbalance * speed * 1000.0", checks_vibration.unbalanced_rotor_as_bodies),
    Mutant("heavy side turns the wrong way", SHAKE, "turning * force.imag\n    inverse", "-turning * force.imag\n    inverse", checks_vibration.unbalanced_rotor_as_bodies),
    Mutant("hub above the centre of mass rolls the wrong way", SHAKE, "(-c * right)", "(c * right)", checks_vibration.unbalanced_rotor_as_bodies),
    Mutant("phase ignores that the rotor spins up", SHAKE, "(speed - 0.5 * dt * dx[X.ROTORS + i])", "speed", checks_vibration.phase_follows_a_rotor_that_spins_up),
    Mutant("rate leads the force", SHAKE, "complex(0.0, speed)", "complex(0.0, -speed)", checks_vibration.shaken_rate_is_the_integral),
    Mutant("tone sampled without its lag", SHAKE, "complex(1.0, speed * sensors.accel_lag)", "abs(complex(1.0, speed * sensors.accel_lag))", checks_vibration.analogue_limit_acts_before_sampling),
    Mutant("tone past the gyro's limit", SHAKE, "complex(1.0, speed * sensors.gyro_lag)", "1.0", checks_vibration.analogue_limit_acts_before_sampling),
    Mutant("vibration rectified by its peak", SHAKE, "0.5 * (carried.shake_raw", "1.0 * (carried.shake_raw", checks_vibration.vibration_rectified),
)  # fmt: skip
"""As MUTANTS, on what the inertial sensor feels of vibration."""

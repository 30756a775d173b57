"""Straight moves with the ruckig library: rest to rest, and between two speeds."""

import ruckig

from curves import numbers


def time_of(distance, start, end, speed, acceleration, jerk):
    """Shortest time of a move with zero acceleration at both ends, s."""
    inp = ruckig.InputParameter(1)
    inp.current_position, inp.target_position = [0.0], [distance]
    inp.current_velocity, inp.target_velocity = [start], [end]
    inp.current_acceleration = inp.target_acceleration = [0.0]
    inp.max_velocity, inp.max_acceleration, inp.max_jerk = [speed], [acceleration], [jerk]
    trajectory = ruckig.Trajectory(1)
    result = ruckig.Ruckig(1).calculate(inp, trajectory)
    if result not in (ruckig.Result.Working, ruckig.Result.Finished):
        raise RuntimeError(f"no move: {result}")
    return trajectory.duration


def ramp_length(a, b, acceleration, jerk):
    change = abs(b - a)
    time = change / acceleration + acceleration / jerk
    if change * jerk < acceleration**2:
        time = 2 * (change / jerk) ** 0.5
    return 0.5 * (a + b) * time


def moves():
    """400 moves; every other one between two speeds, on at least the length of its ramp."""
    u = numbers(7)
    draw = lambda low, high: low * (high / low) ** next(u)
    rows = []
    for index in range(400):
        speed, acceleration, jerk = draw(20, 1000), draw(500, 10000), draw(5e3, 5e5)
        distance = draw(0.05, 500)
        start = end = 0.0
        if index % 2:
            start, end = speed * next(u), speed * next(u)
            distance = ramp_length(start, end, acceleration, jerk) * 1.001 + distance
        time = time_of(distance, start, end, speed, acceleration, jerk)
        rows.append({"distance": distance, "start": start, "end": end, "speed": speed,
                     "acceleration": acceleration, "jerk": jerk, "time_s": time})
    return rows

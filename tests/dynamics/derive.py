"""Loads and linkages whose inertia changes, derived from energy; see run.sh.

Nothing here is taken over from the standard library's formulas: points are placed by geometry, velocities are numeric
derivatives of places, and the torque is what balances the power of all masses, weights, springs and frictions."""
import random
import sys

from mpmath import mp, mpf, cos, sin, sqrt, atan2, pi, diff, quad, fabs, sign

mp.dps = 30
TOLERANCE = mpf("1e-9")
SAMPLES = 3
GRAVITY = mpf("9.80665")


class Motion:
    """A move of one stroke, or a run at one speed, as the language writes it and as a function of time."""

    def __init__(self, draw, kind, stroke, unit):
        self.kind, self.stroke = kind, mpf(str(stroke))
        self.time = mpf(str(round(draw.uniform(0.3, 2.0), 3)))
        self.unit = unit

    def written(self, name):
        if self.kind == "run":
            return f"cycle {name} progressive {{ run {mp.nstr(self.stroke / self.time, 25)} {self.unit}/s for {mp.nstr(self.time, 12)} s }}\n"
        return f"cycle {name} progressive {{ move {mp.nstr(self.stroke, 12)} {self.unit} in {mp.nstr(self.time, 12)} s by {self.kind} }}\n"

    def place(self, t):
        x = t / self.time
        if self.kind == "run":
            return self.stroke * x
        if self.kind == "cycloidal":
            return self.stroke * (x - sin(2 * pi * x) / (2 * pi))
        return self.stroke * (10 * x**3 - 15 * x**4 + 6 * x**5)


def number(draw, low, high):
    return mpf(str(round(draw.uniform(low, high), 4)))


def fields(**values):
    return "".join(f"  {name.replace('_', '-')} = {value}\n" for name, value in values.items())


def quantity(value, unit):
    return f"{mp.nstr(value, 25)} {unit}"


def loss(friction, viscous, speed):
    """Power of friction."""
    return friction * fabs(speed) + viscous * speed**2


def make_crank(draw, name):
    motion = Motion(draw, draw.choice(["run", "cycloidal", "polynomial-3-4-5"]), round(draw.choice([-1, 1]) * draw.uniform(2, 9), 3), "rad")
    radius, rod_mass = number(draw, 0.02, 0.2), number(draw, 0, 2)
    rod, offset = radius * number(draw, 2, 5), radius * number(draw, -0.6, 0.6)
    slope = number(draw, -90, 90)
    mass, crank_inertia, unbalance = number(draw, 0.1, 9), number(draw, 0, 0.02), number(draw, -0.05, 0.05)
    centre = rod * number(draw, 0.1, 0.9)
    friction = number(draw, 0, 0.3) if draw.random() < 0.5 else mpf(0)
    two_masses = rod_mass * centre * (rod - centre)
    # side thrust is exact for a rod whose masses are at its ends, so a rod that causes friction is made like that
    rod_inertia = two_masses if friction else two_masses * number(draw, 0.3, 2)
    guide, viscous, bearing, thrust = number(draw, 0, 20), number(draw, 0, 8), number(draw, 0, 1), number(draw, -80, 80)
    text = motion.written(name + "-m") + f"crank {name} {{\n" + fields(
        motion=name + "-m", radius=quantity(radius, "m"), rod_length=quantity(rod, "m"), offset=quantity(offset, "m"),
        slope=quantity(slope, "deg"), mass=quantity(mass, "kg"), rod_mass=quantity(rod_mass, "kg"), rod_centre=quantity(centre, "m"),
        rod_inertia=quantity(rod_inertia, "kg·m²"), crank_inertia=quantity(crank_inertia, "kg·m²"),
        crank_unbalance=quantity(unbalance, "kg·m"), friction_coefficient=mp.nstr(friction, 25), guide_friction=quantity(guide, "N"),
        viscous_friction=quantity(viscous, "N·s/m"), friction_torque=quantity(bearing, "N·m"), thrust=quantity(thrust, "N")) + "}\n"
    up = (sin(slope * pi / 180), cos(slope * pi / 180))

    def pin(t):
        return radius * cos(motion.place(t)), radius * sin(motion.place(t))

    def slider(t):
        x, y = pin(t)
        return x + sqrt(rod**2 - (offset - y) ** 2), offset

    def middle(t):
        (x, y), (u, v) = pin(t), slider(t)
        return x + (u - x) * centre / rod, y + (v - y) * centre / rod

    def rod_angle(t):
        (x, y), (u, v) = pin(t), slider(t)
        return atan2(v - y, u - x)

    def height(point):
        return point[0] * up[0] + point[1] * up[1]

    def speed_squared(point, t):
        return diff(lambda s: point(s)[0], t) ** 2 + diff(lambda s: point(s)[1], t) ** 2

    def energy(t):
        x, y = pin(t)
        kinetic = (crank_inertia * diff(motion.place, t) ** 2 + mass * speed_squared(slider, t)
                   + rod_mass * speed_squared(middle, t) + rod_inertia * diff(rod_angle, t) ** 2) / 2
        potential = mass * height(slider(t)) + rod_mass * height(middle(t)) + unbalance * height((x / radius, y / radius))
        return kinetic + GRAVITY * potential

    def torque(t):
        speed = diff(motion.place, t)
        along = diff(lambda s: slider(s)[0], t)
        power = diff(energy, t) + thrust * along + loss(guide, viscous, along) + bearing * fabs(speed)
        if friction:
            moving = mass + rod_mass * centre / rod
            force = moving * (diff(lambda s: slider(s)[0], t, 2) + GRAVITY * up[0]) + thrust + guide * sign(along) + viscous * along
            (x, y), (u, v) = pin(t), slider(t)
            normal = mpf(0)
            for _ in range(400):  # of the guide on the slider, until it agrees with the force that it helps to cause
                push = force + friction * fabs(normal) * sign(along)
                normal = moving * GRAVITY * up[1] - push * (v - y) / (u - x)
            power += friction * fabs(normal) * fabs(along)
        return power / speed

    return text, motion.time, torque


def make_eccentric(draw, name):
    motion = Motion(draw, draw.choice(["run", "cycloidal"]), round(draw.choice([-1, 1]) * draw.uniform(2, 9), 3), "rad")
    offset = number(draw, 0.005, 0.05)
    diameter = offset * number(draw, 2.2, 6)
    disc_mass, mass = number(draw, 0.1, 4), number(draw, 0.1, 5)
    slope, preload, rate = number(draw, -90, 90), number(draw, 100, 900), number(draw, 0, 4000)
    face, guide, bearing, thrust = number(draw, 0, 0.2), number(draw, 0, 10), number(draw, 0, 0.5), number(draw, -20, 60)
    text = motion.written(name + "-m") + f"disc {name}-d {{ diameter = {quantity(diameter, 'm')}\n mass = {quantity(disc_mass, 'kg')} }}\n"
    text += f"eccentric {name} {{\n" + fields(
        motion=name + "-m", disc=name + "-d", diameter=quantity(diameter, "m"), eccentricity=quantity(offset, "m"), mass=quantity(mass, "kg"),
        slope=quantity(slope, "deg"), spring_preload=quantity(preload, "N"), spring_rate=quantity(rate, "N/m"), face_friction=mp.nstr(face, 25),
        guide_friction=quantity(guide, "N"), friction_torque=quantity(bearing, "N·m"), thrust=quantity(thrust, "N")) + "}\n"
    up = (sin(slope * pi / 180), cos(slope * pi / 180))
    disc_inertia = disc_mass * quad(lambda r: r**3, [0, diameter / 2]) * 2 * pi / (pi * (diameter / 2) ** 2)

    def centre(t):
        return -offset * cos(motion.place(t)), -offset * sin(motion.place(t))

    def face_place(t):
        return centre(t)[0] + diameter / 2

    def lift(t):
        return face_place(t) - (diameter / 2 - offset)

    def energy(t):
        x, y = centre(t)
        kinetic = (disc_inertia * diff(motion.place, t) ** 2 + mass * diff(face_place, t) ** 2
                   + disc_mass * (diff(lambda s: centre(s)[0], t) ** 2 + diff(lambda s: centre(s)[1], t) ** 2)) / 2
        weight = GRAVITY * (disc_mass * (x * up[0] + y * up[1]) + mass * face_place(t) * up[0])
        return kinetic + weight + preload * lift(t) + rate * lift(t) ** 2 / 2

    def torque(t):
        speed, along = diff(motion.place, t), diff(face_place, t)
        normal = mass * (diff(face_place, t, 2) + GRAVITY * up[0]) + preload + rate * lift(t) + thrust + guide * sign(along)
        power = diff(energy, t) + thrust * along + guide * fabs(along) + bearing * fabs(speed)
        return (power + face * normal * fabs(speed) * face_place(t)) / speed

    return text, motion.time, torque


def make_arm(draw, name):
    motion = Motion(draw, draw.choice(["run", "cycloidal", "polynomial-3-4-5"]), round(draw.choice([-1, 1]) * draw.uniform(0.5, 7), 3), "rad")
    mass, length, centre = number(draw, 0.2, 9), number(draw, 0.1, 1), number(draw, 0, 0.5)
    payload, reach, counter, back = number(draw, 0, 3), number(draw, 0, 1), number(draw, 0, 3), number(draw, 0, 0.5)
    start, slope = number(draw, -180, 180), number(draw, -90, 90)
    bearing, viscous = number(draw, 0, 2), number(draw, 0, 1)
    text = motion.written(name + "-m") + f"rod {name}-b {{ mass = {quantity(mass, 'kg')}\n length = {quantity(length, 'm')} }}\n"
    text += f"arm {name} {{\n" + fields(
        motion=name + "-m", body=name + "-b", centre_distance=quantity(centre, "m"), payload=quantity(payload, "kg"),
        payload_distance=quantity(reach, "m"), counterweight=quantity(counter, "kg"), counterweight_distance=quantity(back, "m"),
        start_angle=quantity(start, "deg"), axis_slope=quantity(slope, "deg"), friction_torque=quantity(bearing, "N·m"),
        viscous_friction=quantity(viscous, "N·m/(rad/s)")) + "}\n"
    pieces = [(mass / 12, centre + length / 2 * mpf(k)) for k in (-1, 1)]  # Simpson: a slender rod is 1/6, 4/6, 1/6 of its mass
    pieces = [(2 * m, d) for m, d in pieces] + [(mass * 2 / 3, centre), (payload, reach), (counter, -back)]
    tilt = cos(slope * pi / 180)

    def energy(t):
        angle = motion.place(t) + start * pi / 180
        speed = diff(motion.place, t)
        return sum(m * (d * speed) ** 2 / 2 + m * GRAVITY * d * sin(angle) * tilt for m, d in pieces)

    def torque(t):
        speed = diff(motion.place, t)
        return (diff(energy, t) + loss(bearing, viscous, speed)) / speed

    return text, motion.time, torque


def passed(power, efficiency):
    back = max(2 - 1 / efficiency, 0)
    return power / efficiency if power > 0 else power * back


def make_linkage(draw, name):
    """A crank that swings, or an arm with a slot, that moves a slide."""
    swinging = draw.random() < 0.6
    radius = number(draw, 0.05, 0.3)
    rod = radius * number(draw, 1.5, 5)
    stroke = radius * number(draw, 0.2, 1.5) * draw.choice([-1, 1])
    motion = Motion(draw, draw.choice(["cycloidal", "polynomial-3-4-5", "run"]), stroke, "m")
    mass, slope, coefficient, thrust = number(draw, 0.2, 20), number(draw, -90, 90), number(draw, 0, 0.3), number(draw, -50, 50)
    inertia, efficiency, drag = number(draw, 0.001, 0.1), number(draw, 0.55, 1), number(draw, 0, 1)
    text = motion.written(name + "-m") + f"slide {name}-s {{\n" + fields(
        motion=name + "-m", mass=quantity(mass, "kg"), slope=quantity(slope, "deg"), friction_coefficient=mp.nstr(coefficient, 25),
        thrust=quantity(thrust, "N")) + "}\n"
    common = dict(load=name + "-s", efficiency=mp.nstr(efficiency, 25), own_inertia=quantity(inertia, "kg·m²"), drag_torque=quantity(drag, "N·m"))
    if swinging:
        zero = rod - stroke / 2
        text += f"crank-drive {name} {{\n" + fields(radius=quantity(radius, "m"), rod_length=quantity(rod, "m"), zero_reach=quantity(zero, "m"), **common) + "}\n"

        def angle(t):  # of the crank pin, where the circle round the shaft meets the one round the load's pin
            x = zero + motion.place(t)
            u = (radius**2 - rod**2 + x**2) / (2 * x)
            return -atan2(sqrt(radius**2 - u**2), u)
    else:
        zero = -stroke * number(draw, 0.2, 0.8)
        text += f"rocker {name} {{\n" + fields(arm_distance=quantity(radius, "m"), zero_offset=quantity(zero, "m"), **common) + "}\n"

        def angle(t):
            return atan2(zero + motion.place(t), radius)

    def torque(t):
        speed, velocity = diff(angle, t), diff(motion.place, t)
        slant = slope * pi / 180
        force = mass * (diff(motion.place, t, 2) + GRAVITY * sin(slant)) + thrust + coefficient * mass * GRAVITY * cos(slant) * sign(velocity)
        return passed(force * velocity, efficiency) / speed + inertia * diff(angle, t, 2) + drag * sign(speed)

    return text, motion.time, torque


def make_cam(draw, name):
    motion = Motion(draw, draw.choice(["cycloidal", "polynomial-3-4-5"]), number(draw, 0.005, 0.05), "m")
    mass, preload, rate = number(draw, 0.1, 5), number(draw, 300, 900), number(draw, 0, 9000)
    efficiency, drag, turns = number(draw, 0.6, 1), number(draw, 0, 0.5), draw.randint(1, 3)
    text = motion.written(name + "-m") + f"slide {name}-s {{ motion = {name}-m\n mass = {quantity(mass, 'kg')}\n slope = 90 deg }}\n"
    text += f"cam {name} {{\n" + fields(
        load=name + "-s", efficiency=mp.nstr(efficiency, 25), own_inertia="1 kg·cm²", drag_torque=quantity(drag, "N·m"), base_radius="0.3 m",
        spring_preload=quantity(preload, "N"), spring_rate=quantity(rate, "N/m"), turns=turns) + "}\n"
    speed = 2 * pi * turns / motion.time

    def energy(t):
        x = motion.place(t)
        return mass * diff(motion.place, t) ** 2 / 2 + mass * GRAVITY * x + preload * x + rate * x**2 / 2

    return text, motion.time, lambda t: passed(diff(energy, t), efficiency) / speed + drag


def make_winder(draw, name):
    winding = draw.random() < 0.5
    motion = Motion(draw, draw.choice(["cycloidal", "polynomial-3-4-5", "run"]), number(draw, 0.5, 30), "m")
    core, start = number(draw, 0.05, 0.1), number(draw, 0.3, 0.8)
    thickness, width, density = number(draw, 0.0001, 0.002), number(draw, 0.05, 1), number(draw, 300, 1500)
    chuck, tension, bearing = number(draw, 0.001, 0.05), number(draw, 0, 200), number(draw, 0, 1)
    text = motion.written(name + "-m") + f"winder {name} {{\n" + fields(
        motion=name + "-m", direction="winding" if winding else "unwinding", tension=quantity(tension, "N"), diameter=quantity(start, "m"),
        core_diameter=quantity(core, "m"), core_inertia=quantity(chuck, "kg·m²"), thickness=quantity(thickness, "m"), width=quantity(width, "m"),
        density=quantity(density, "kg/m³"), friction_torque=quantity(bearing, "N·m")) + "}\n"
    way = 1 if winding else -1

    def radius(t):  # the web's edge has the area that the roll's end gains
        return sqrt((pi * (start / 2) ** 2 + way * thickness * motion.place(t)) / pi)

    def speed(t):
        return diff(motion.place, t) / radius(t)

    def momentum(t):
        return (chuck + quad(lambda r: 2 * pi * r**3 * density * width, [core / 2, radius(t)])) * speed(t)

    def torque(t):
        web = diff(motion.place, t)
        brought = way * density * width * thickness * web * web * radius(t)  # momentum that the web brings, or takes along
        return diff(momentum, t) - brought + way * tension * radius(t) + bearing * sign(web)

    return text, motion.time, torque


MAKERS = [(make_crank, 80), (make_eccentric, 40), (make_arm, 20), (make_linkage, 50), (make_cam, 20), (make_winder, 30)]


def cases():
    draw = random.Random(20240229)
    for maker, count in MAKERS:
        for i in range(count):
            name = maker.__name__[5:] + str(i)
            text, time, torque = maker(draw, name)
            yield name, text, torque, [time * mpf(str(round(draw.uniform(0.03, 0.97), 4))) for _ in range(SAMPLES)]


def write(path):
    with open(path, "w", encoding="utf-8") as out:
        out.write('use "loads.trn"\nuse "transmissions.trn"\n')
        for name, text, _, times in cases():
            out.write(text)
            for i, t in enumerate(times):
                out.write(f"requirement {name}-{i} {{ shall {name}.torque at {mp.nstr(t, 25)} s <= 1e12 N·m\n  from none \"derived anew\"\n  method analysis }}\n")


def compare(path):
    found = {}
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            name, _, rest = line.strip().partition(": ")
            value = rest.split(", ")[-1].split(" ")
            if len(value) == 2 and value[1] in ("N·m", "mN·m"):
                found[name] = mpf(value[0]) * (mpf("1e-3") if value[1] == "mN·m" else 1)
    passed_count = failed = 0
    worst = mpf(0)
    for name, _, torque, times in cases():
        wanted = [torque(t) for t in times]
        size = max(fabs(w) for w in wanted)
        for i, w in enumerate(wanted):
            ours = found.get(f"{name}-{i}")
            off = fabs(ours - w) / max(size, mpf("1e-3")) if ours is not None else None
            if off is None or off > TOLERANCE:
                failed += 1
                print(f"FAILED {name} at {mp.nstr(times[i], 8)} s: derived {mp.nstr(w, 13)} N·m, ours {ours if ours is None else mp.nstr(ours, 13)}")
            else:
                passed_count += 1
                worst = max(worst, off)
    print(f"largest deviation {mp.nstr(worst, 2)}")
    print(passed_count, failed)


if __name__ == "__main__":
    {"write": write, "compare": compare}[sys.argv[1]](sys.argv[2])

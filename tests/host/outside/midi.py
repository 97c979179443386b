"""MIDI files, as far as these tests need them: notes and tempi, nothing else."""
import struct


def variable(value):
    out = [value & 127]
    while value > 127:
        value >>= 7
        out.insert(0, (value & 127) | 128)
    return bytes(out)


def write(path, notes, tempi=((0, 120),), meters=((0, 4, 4),), resolution=480):
    """notes: (start, end, key, velocity) in quarters; tempi: (quarter, quarters a minute); meters: (quarter, n, d)."""
    events = []
    for at, bpm in tempi:
        events.append((round(at * resolution), 0, b"\xff\x51\x03" + struct.pack(">I", round(60e6 / bpm))[1:]))
    for at, n, d in meters:
        events.append((round(at * resolution), 0, bytes([0xFF, 0x58, 4, n, d.bit_length() - 1, 24, 8])))
    for start, end, key, velocity in notes:
        events.append((round(start * resolution), 2, bytes([0x90, key, velocity])))
        events.append((round(end * resolution), 1, bytes([0x80, key, 64])))
    track, now = b"", 0
    for tick, _, message in sorted(events, key=lambda e: e[:2]):
        track += variable(tick - now) + message
        now = tick
    track += b"\x00\xff\x2f\x00"
    with open(path, "wb") as file:
        file.write(b"MThd" + struct.pack(">IHHH", 6, 0, 1, resolution) + b"MTrk" + struct.pack(">I", len(track)) + track)


def read(path):
    """(notes, tempi): notes as (start, end, key, velocity, channel), tempi as (quarter, quarters a minute), in quarters."""
    data = open(path, "rb").read()
    resolution = struct.unpack(">H", data[12:14])[0]
    notes, tempi, chunk = [], [], 14
    while chunk < len(data):
        name, length = data[chunk:chunk + 4], struct.unpack(">I", data[chunk + 4:chunk + 8])[0]
        i, end, tick, status, down = chunk + 8, chunk + 8 + length, 0, 0, {}
        chunk = end

        def number(i):
            value = 0
            while True:
                value = value * 128 + (data[i] & 127)
                i += 1
                if data[i - 1] < 128:
                    return value, i

        while name == b"MTrk" and i < end:
            delta, i = number(i)
            tick += delta
            if data[i] > 127:
                status = data[i]
                i += 1
            if status >= 0xF0:
                kind = data[i] if status == 0xFF else None
                i += status == 0xFF
                size, i = number(i)
                if kind == 0x51:
                    tempi.append((tick / resolution, 60e6 / int.from_bytes(data[i:i + size], "big")))
                i += size
                continue
            if 0xC0 <= status < 0xE0:
                i += 1
                continue
            key, velocity = data[i], data[i + 1]
            i += 2
            place = (status & 15, key)
            if 0x90 <= status < 0xA0 and velocity > 0:
                down.setdefault(place, []).append((tick / resolution, velocity))
            elif status < 0xA0 and down.get(place):
                start, force = down[place].pop(0)
                notes.append((start, tick / resolution, key, force, status & 15))
    return sorted(notes), sorted(tempi)

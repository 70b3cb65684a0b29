"""What the tests' sites at Reed Pool, an invented place, have in common, as pieces of a case file."""

PUMP = """pumps:
  lift:
    speed: 2900 rpm
    flow: 0 1 2 3 L/s
    head: 20 19 16 11 m
    power: 0.4 0.5 0.6 0.65 kW
    npsh required: 1 1.2 1.8 2.6 m
    inertia: 0.004 kg m2
"""

# A pump from a pond into a manifold with an air vessel; a tower above.
VESSEL_TANKS = """tanks:
  pond: {floor: -1.0 m, brim: 0.5 m, level: 0.0 m, area: 20 m2}
  tower: {floor: 5.0 m, brim: 12.0 m, level: 10.0 m, area: 4 m2}
points:
  manifold: {elevation: 0.5 m, air vessel: {volume: 40 L, gas: 16 L, joint bore: 50 mm}}
"""

VESSEL_LIFT = """runs:
  lift:
    from: pond
    to: manifold
    parts:
      - {pipe: pvc-u 63 pn10, length: 2 m, end: 0.5 m}
      - {pump: lift, name: lift-1}
"""

"""What the calls of `test_arguments` start from."""

import underfoot as uf

BODY = uf.RigidBody(1000, (0, 0, 0), (100, 100, 100))
MOUNT = uf.Mount((0, 0, 0), (1e6, 1e6, 1e6), loss_factor=0.1, rotational_stiffness=1e5)
INST = uf.Installation(BODY, [MOUNT])


def three(value):
    return [value, value, value]


def shock(**given):
    return INST.shock(uf.HalfSine(1, 0.01), "z", **{"duration": 0.1, "dt": 0.01, **given})

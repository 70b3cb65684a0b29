"""No module (x.c + x.h) leads back to itself over includes."""

import os

import tree

graph = {}
for path in tree.sources():
    module = os.path.splitext(path)[0]
    wanted = {os.path.splitext(name)[0] for _, name in tree.includes(path)}
    graph.setdefault(module, set()).update(wanted - {module})


def way(start, goal):
    """The shortest way over includes from a module that `start` includes to `goal`, or None."""
    queue = [[module] for module in sorted(graph.get(start, ()))]
    seen = set()
    for steps in queue:
        if steps[-1] == goal:
            return steps
        if steps[-1] not in seen:
            seen.add(steps[-1])
            queue += [steps + [module] for module in sorted(graph.get(steps[-1], ()))]
    return None


rings = {}
for module in sorted(graph):
    steps = way(module, module)
    if steps:
        rings.setdefault(frozenset(steps), " -> ".join([module] + steps))
tree.finish([f"ring: {ring}" for ring in rings.values()], "Take the shared part out into its own.")

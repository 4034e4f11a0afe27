"""The cheapest plan of strips by CP-SAT: another route than the planner's, with nothing of it.

To be run in a process of its own: ortools and highspy bring two versions of one library that do not get on.
"""


def cheapest_strips(parts, stock, kerf):
    """The least that must be paid where every piece is ripped into strips and these crosscut into parts."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    count = range(len(parts))
    pieces = [row for row in stock for _ in (count if row[3] else range(1))]
    # A strip is as wide as the part that heads it; it lies on one piece.
    within = {(i, j): model.new_bool_var("") for i in count for j in count if parts[i][1] <= parts[j][1]}
    lies = {(j, k): model.new_bool_var("") for j in count for k in range(len(pieces))}
    used = [model.new_bool_var("") for _ in pieces]
    for i in count:
        model.add_exactly_one(within[i, j] for j in count if (i, j) in within)
    for j in count:
        model.add(sum(lies[j, k] for k in range(len(pieces))) == within[j, j])
        for i in count:
            if (i, j) in within:
                model.add_implication(within[i, j], within[j, j])
        length = sum((parts[i][0] + kerf) * within[i, j] for i in count if (i, j) in within)
        for k, piece in enumerate(pieces):
            model.add(length <= piece[0] + kerf).only_enforce_if(lies[j, k])
    for k, piece in enumerate(pieces):
        width = sum((parts[j][1] + kerf) * lies[j, k] for j in count)
        model.add(width <= (piece[1] + kerf) * used[k])
    model.minimize(sum(piece[2] * used[k] for k, piece in enumerate(pieces) if piece[3]))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)

"""How even the passes leave it: the bolts of flat-gasket joints followed through their plan."""

from __future__ import annotations

import functools
from collections.abc import Collection, Iterator, Mapping

from rebuildbook.calculators.tightening import OrderKind
from rebuildbook.figures.evenness import evenness as draw_evenness
from rebuildbook.figures.style import svg
from rebuildbook.units import number, show, shown_unit, to_unit, with_unit
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import (
    Block,
    Finding,
    Level,
    Line,
    Lines,
    Note,
    Picture,
    Section,
    Table,
    Value,
)
from rebuildbook.worksheet.plan import JointPlan
from rebuildbook.worksheet.tightened import (
    EVEN,
    HARDLY,
    MOST_ROUNDS,
    NotFollowed,
    OrderEnds,
    Setup,
    Span,
    Tightened,
    beyond_the_model,
    setup_of,
    solve,
)
from rebuildbook.worksheet.worked import WorkedJoint

# friction alone scatters the preload of one torque by about this; judgement of this toolkit
ENOUGH = 0.20
_METHOD = "elastic balance of bolts, flange and gasket (elastic interaction, Bickford, from memory)"
_SOURCE = (
    f"{_METHOD}; ± 20 % because friction alone scatters the preload of one torque by about as "
    "much: judgement of this toolkit"
)
_ABREAST = 4  # settings in one row
_ABOUT = (
    "A fastener tightened later presses the gasket on and takes preload from its neighbours. The "
    "passes and the rounds even that out; crossing keeps a flange of many bolts level on the way, "
    "but does not by itself leave the bolts more even. Figures are of an elastic model that starts "
    "with the parts level and the nuts just touching. It leaves out creep and set of the gasket, "
    "scatter of the friction, warped faces, settling and the squeeze of the flange through its "
    "thickness: a real joint ends less even than this."
)
_O_RINGS = (
    "Metal to metal on an O-ring: the bolts hardly feel each other, so the passes serve to draw "
    "the parts up level. Not followed here: "
)


def evenness(context: Context, worked: Collection[WorkedJoint]) -> Section:
    """Build the section on how even the planned passes leave the joints of two bolts and more."""
    many = [one for one in worked if one.plan.joint.count > 1]
    o_rings = [one.plan.name for one in many if _seal(one.plan) == "o-ring"]
    blocks: list[Block] = []
    done: dict[Setup, list[str]] = {}
    for one in many:
        if _seal(one.plan) == "flat":
            blocks += _joint(context, one, done)
    if blocks:
        blocks.insert(0, Note(_ABOUT))
    if thick := [
        name for setup, names in done.items() if beyond_the_model(setup) for name in names
    ]:
        blocks.append(
            Note(
                f"Thick or wide for the theory of thin plates and rings ({', '.join(thick)}): "
                "shear in the flange counts there too; read the figures as a trend."
            )
        )
    if o_rings:
        blocks.append(Note(f"{_O_RINGS}{', '.join(o_rings)}."))
    if not blocks:
        blocks.append(Note("No joint of this model has several bolts on a gasket."))
    return Section("evenness", "How even the passes leave it", tuple(blocks))


def _seal(plan: JointPlan) -> str:
    return plan.joint.gasket.kind if plan.joint.gasket else "none"


def _joint(context: Context, joint: WorkedJoint, done: dict[Setup, list[str]]) -> Iterator[Block]:
    plan = joint.plan
    try:
        setup = setup_of(joint)
        found = solve(setup)
    except NotFollowed as gap:
        yield Note(f"{plan.name}: not followed, {gap}.")
        return
    except (ValueError, ArithmeticError) as problem:
        yield _contradiction(plan, str(problem))
        return
    if setup in done:
        yield Note(f"{plan.name}: in all that counts here like {done[setup][0]}; it ends the same.")
    else:
        yield Lines(f"{plan.name}: {plan.joint.what}", tuple(_lines(context, plan, setup, found)))
        if found.taken < HARDLY:
            yield Note(f"{plan.name}: on this gasket the bolts hardly feel each other.")
        else:
            # a picture after a table would be set small beside it
            yield _picture(context, plan, found)
            yield _after_each_pass(plan, found)
            yield from _even_round(plan, found)
    done.setdefault(setup, []).append(plan.name)
    yield _finding(context, plan, setup, found)


def _lines(context: Context, plan: JointPlan, setup: Setup, found: Tightened) -> Iterator[Line]:
    id_, aim = f"evenness.{plan.name}", context.value(setup.target, "force")
    taken = Value(found.taken, "fraction", "%")
    sheet = context.source("model", f"joints.{plan.name}")
    yield Line(
        f"{id_}.target", "Preload aimed at", aim, "F_0", data="typical preload of the torque set"
    )
    yield Line(
        f"{id_}.taken",
        "Most that tightening one bolt takes from another, of its own rise",
        taken if found.taken >= HARDLY else f"under {100 * HARDLY:.0f} %",
        method=_METHOD,
        data=f"{sheet}; stiffness of the fastener as in joints under load",
    )
    if found.taken >= HARDLY:
        yield from _ends(plan, aim, found, id_)


def _ends(plan: JointPlan, aim: Value, found: Tightened, id_: str) -> Iterator[Line]:
    final = found.history.final
    least, most, mean = (
        Value(float(force), "force", aim.unit) for force in (final.min(), final.max(), final.mean())
    )
    yield Line(
        f"{id_}.ends",
        f"Preload of each after the planned passes, 1 to {plan.joint.count}",
        with_unit("  ".join(number(to_unit(force, aim.unit)) for force in final), aim.unit),
        method=_METHOD,
        data="planned passes, with one round in rotation",
    )
    yield Line(
        f"{id_}.least",
        "Least preload left, of the preload aimed at",
        Value(least.si / aim.si, "fraction", "%"),
        "r_min",
        "F_min/F_0",
        {"F_min": least, "F_0": aim},
        "share of the target",
    )
    yield Line(
        f"{id_}.spread",
        "Spread at the end",
        Value(found.history.spread, "fraction", "%"),
        "s",
        "(F_max - F_min)/F_m",
        {"F_max": most, "F_min": least, "F_m": mean},
        "largest less smallest over the mean",
    )
    yield Line(
        f"{id_}.rounds",
        "Further rounds in rotation to bring all within ± 10 %",
        _rounds(found),
        method=f"rounds at the full setting, at most {MOST_ROUNDS}; a wrench only turns on",
        data="planned passes as in the tightening order",
    )


def _rounds(found: Tightened) -> str:
    if not found.rounds.even:
        return f"not reached; {found.rounds.rounds} made"
    return str(found.rounds.rounds) if found.rounds.rounds else "none"


def _percent(span: Span) -> str:
    low, high = (f"{100.0 * share:.0f}" for share in (span.least, span.most))
    return f"{low} %" if low == high else f"{low} to {high} %"


def _after_each_pass(plan: JointPlan, found: Tightened) -> Table:
    history, rows = found.history, []
    made = [one for one in plan.tightening.passes if one.torque > 0.0] if plan.tightening else []
    for place, one in enumerate(made[-history.passes[-1] :], start=1):
        step = max(at for at, of_pass in enumerate(history.passes) if of_pass == place)
        share = history.forces[step] / history.target
        low, high = int(share.argmin()), int(share.argmax())
        rows.append(
            (
                str(one.number),
                f"{100.0 * share[low]:.0f} % ({low + 1})",
                f"{100.0 * share.mean():.0f} %",
                f"{100.0 * share[high]:.0f} % ({high + 1})",
            )
        )
    title = f"{plan.name}: preload after each pass, of the preload aimed at (and which bolt)"
    return Table(title, ("After pass", "Least", "Mean", "Most"), tuple(rows))


def _picture(context: Context, plan: JointPlan, found: Tightened) -> Picture:
    unit = context.value(float(found.history.target[0]), "force").unit
    orders = {_order(plan, kind): ends for kind, ends in found.orders.items()}
    words = "; ".join(
        f"{name} {_percent(ends.passes)}, then {_percent(ends.end)}"
        for name, ends in orders.items()
    )
    return Picture(
        f"evenness-{plan.name}",
        f"{plan.name}: preload of each bolt through the planned passes, the steps counted below; "
        "heavy the one that ends highest, dashed the lowest. Beside it the range in which each "
        "order leaves the bolts: thin after the torque passes, heavy after the round in rotation. "
        "Grey: ± 20 %.",
        f"Least to most after the torque passes and after the round, by order: {words}",
        functools.partial(_draw, found, orders, unit),
    )


def _order(plan: JointPlan, kind: OrderKind) -> str:
    if kind == "cross":
        on_circle = plan.tightening is not None and plan.tightening.layout.shape == "circle"
        return "cross" if on_circle else "outwards"
    return "quadrants" if kind == "quadrant" else "rotation"


def _draw(found: Tightened, orders: Mapping[str, OrderEnds], unit: str) -> str:
    spans = {
        name: tuple((span.least, span.most) for span in (ends.passes, ends.end))
        for name, ends in orders.items()
    }
    return svg(draw_evenness(found.history, spans, unit, share=ENOUGH))


def _even_round(plan: JointPlan, found: Tightened) -> Iterator[Block]:
    """One round bolt by bolt, where it spares rounds and stays within window and proof load."""
    even, tool = found.even_round, plan.tool
    if found.rounds.rounds == 0 or tool is None:
        return
    if even is None or even.end.off > EVEN:
        yield Note(
            f"{plan.name}: no single round that stays within the maker's window and below proof "
            "load brings all within ± 10 %; make the rounds."
        )
        return
    unit = tool.wrench.scale_unit
    cells = [
        f"{bolt}: {number(to_unit(even.torques[bolt - 1] / plan.ratio, unit), 4)}"
        for bolt in even.order
    ]
    cells += ["–"] * (-len(cells) % _ABREAST)
    yield Table(
        f"{plan.name}: instead of the rounds, one in rotation with {tool.wrench.name} set bolt by "
        f"bolt, {shown_unit(unit)} on its scale",
        ("In turn", *["then"] * (_ABREAST - 1), "Done"),
        tuple((*cells[at : at + _ABREAST], "") for at in range(0, len(cells), _ABREAST)),
        f"Ends at {_percent(even.end)} in the model. No torque leaves the maker's window, and no "
        "bolt goes past proof load or strips its thread at the least friction. Only as good as "
        "the gasket's modulus on the sheet; the rounds ask for no such knowledge.",
    )


def _finding(context: Context, plan: JointPlan, setup: Setup, found: Tightened) -> Finding:
    end, aim = found.end, context.value(setup.target, "force").shown
    level: Level = "clear" if end.off <= ENOUGH + 1e-9 else "query"
    words = "even enough" if level == "clear" else "uneven"
    to_spare = 100.0 * (ENOUGH - end.off)
    return Finding(
        f"evenness.{plan.name}.even",
        level,
        f"{plan.name}: the planned passes leave the bolts {words}",
        f"{_percent(end)} of {aim} after the passes and one round in rotation, against ± 20 %",
        f"{to_spare:.0f} % to spare" if level == "clear" else f"{-to_spare:.0f} % beyond",
        "" if level == "clear" else _action(plan, found),
        _SOURCE,
    )


def _action(plan: JointPlan, found: Tightened) -> str:
    assert plan.tool is not None  # noqa: S101
    rounds, setting = found.rounds, show(plan.tool.setting, plan.tool.wrench.scale_unit, 4)
    if not rounds.even:
        return (
            "Rounds do not bring it within ± 10 % in the model: bring the joint up in more and "
            "smaller passes, and look at flange and gasket on the model sheet."
        )
    more = "1 more round" if rounds.rounds == 1 else f"{rounds.rounds} more rounds"
    return f"Make {more} in rotation with {plan.tool.wrench.name} at {setting}."


def _contradiction(plan: JointPlan, problem: str) -> Finding:
    return Finding(
        f"evenness.{plan.name}.model",
        "query",
        f"{plan.name}: flange, gasket and bolts do not go together",
        problem,
        action="Check flange, gasket and layout of this joint on the model sheet.",
        source=_METHOD,
    )

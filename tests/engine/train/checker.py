"""An independent judge: the list of constraints written out again, from the request and the stages alone.

It shares no code with the search: it walks the stages itself and returns the constraints a line breaks.
"""

from sizing.engine.design import SourceType, StageKind

HEALTH = ("nitrate", "nitrite", "arsenic", "lead", "uranium", "fluoride", "pfas", "radium", "radon")
MEDIA = {
    StageKind.BACKWASH, StageKind.NEUTRALISER, StageKind.AIROX, StageKind.CATALYTIC, StageKind.PERMANGANATE,
    StageKind.SOFTENER, StageKind.ORGANICS, StageKind.NITRATE, StageKind.CARBON, StageKind.RETENTION,
}  # fmt: skip
FILTERS = {
    StageKind.SEDIMENT, StageKind.BACKWASH, StageKind.AIROX, StageKind.CATALYTIC, StageKind.PERMANGANATE,
    StageKind.CARBON, StageKind.ULTRAFILTER,
}  # fmt: skip
TAP = {StageKind.RO, StageKind.TAP_CARBON}
# The order of the trade (common practice), said in pairs that must not stand the other way round.
ORDER = [
    {StageKind.BACKWASH},
    {StageKind.NEUTRALISER},
    {StageKind.AIROX, StageKind.CATALYTIC, StageKind.PERMANGANATE},
    {StageKind.SOFTENER},
    {StageKind.ORGANICS},
    {StageKind.NITRATE},
    {StageKind.UV},
    TAP,
]


def broken(request, duty, tap_duty, stages, pipe_and_rise_kpa, hot_duty=None):
    """Names of the constraints that a line of stages breaks, worked out from nothing but its arguments."""
    found = []
    site, supply, goals = request.site, request.supply, request.goals
    water = entry = dict(request.water.values)
    flow, lost, wall, watts = duty.flow_l_min, 0.0, 0.0, 0.0
    static = supply.cut_out_kpa
    dose, fine, cyst, earned = 0.0, False, False, {}
    only_hot, heated = goals.soften == "hot", None
    untimed = unfiltered = False  # chlorine without a contact tank, what it turned solid without a filter
    ranks = [rank for stage in stages for rank, kinds in enumerate(ORDER)
             if stage.kind in kinds and not (only_hot and stage.kind is StageKind.SOFTENER)]  # fmt: skip
    if ranks != sorted(ranks):
        found.append("order")
    if sum(stage.kind is StageKind.CARBON for stage in stages) > 1:
        found.append("one carbon")
    for stage in stages:
        tap = stage.kind in TAP
        hot = only_hot and stage.kind is StageKind.SOFTENER
        here = tap_duty if tap else _limited(hot_duty if hot else duty, flow)
        fed = type(request.water)(water)
        for limit in stage.feed_limits(here):
            value = here.flow_l_min if limit.analyte == "flow" else water.get(limit.analyte)
            if value is None and limit.analyte == "temperature":
                value = here.temperature_c
            if value is None:
                found += ["untested"] if limit.required else []
            elif limit.hard and (value > limit.value if limit.sense == "max" else value < limit.value):
                found.append(f"feed {limit.analyte}")
        bears = stage.product.ratings.get("most_kpa")
        if bears is not None and static > bears + 1e-6:
            found.append("static of a stage")
        if stage.kind is StageKind.BOOSTER:
            static += stage.product.ratings["shutoff_kpa"]
        if stage.kind is StageKind.REDUCER:
            static = min(static, stage.product.ratings["set_kpa"])
        sizing = stage.size(fed, here)
        found += [m.code for m in sizing.margins if (m.value > m.limit if m.sense == "max" else m.value < m.limit)]
        needs = stage.needs(fed, here)
        if needs.backwash_l_min > supply.pump_flow_l_min.value:
            found.append("backwash")
        if needs.drain and not site.drain and not tap:
            found.append("drain")
        if needs.power_w > 0 and site.power == "none":
            found.append("power")
        if not site.winter_heated and not (needs.drainable or needs.portable):
            found.append("winter")
        for name in ("depth_m", "height_m"):
            room = getattr(site, name)
            if room is not None and not tap and getattr(needs, name) > room:
                found.append(name)
        watts += needs.power_w
        if stage.kind is StageKind.REDUCER:  # it takes what a pump added above its setting
            lost = max(lost, supply.cut_in_kpa - stage.product.ratings["set_kpa"])
        if not tap:
            wall += needs.wall_m
            arriving = supply.cut_in_kpa - lost
            lost += float(stage.loss((hot_duty if hot else duty).peak_l_min, dirty=True))
        else:
            arriving = tap_duty.feed_kpa
        if needs.min_inlet_kpa > arriving + 1e-6:
            found.append("inlet")
        if stage.kind is StageKind.CHLORINE:
            untimed, solids = True, (("sulphide", 0.05), ("iron", 0.3), ("manganese", 0.05))
            unfiltered = any(water.get(code, 0.0) > least for code, least in solids)
        elif stage.kind is StageKind.RETENTION:
            untimed = False
        elif stage.kind in FILTERS and not untimed:
            unfiltered = False
        if stage.kind is StageKind.RESTRICTOR:
            if stage.product.ratings["flow_l_min"] < duty.peak_l_min - 1e-6:
                found.append("peak")
            flow = min(flow, stage.passes_l_min)
        if stage.kind is StageKind.UV:
            if not fine:
                found.append("filter ahead of UV")
            if request.source is not SourceType.DRILLED_WELL and not cyst:  # surface water, or under its influence
                found.append("cyst filter ahead of UV")
            if getattr(stage, "is_barrier", False):
                dose = max(dose, max(m.value for m in sizing.margins if m.code == "uv_dose"))
        for germ, logs in stage.log_credits(fed, here).items():
            if germ == "virus" or not (cyst and stage.kind in (StageKind.SEDIMENT, StageKind.ULTRAFILTER)):
                earned[germ] = earned.get(germ, 0.0) + logs
        if hot:  # a line of its own: cold water and germs pass it by
            heated = dict(stage.treat(fed, here).values)
            continue
        if stage.kind in MEDIA:
            fine = cyst = False
        if stage.kind is StageKind.SEDIMENT and stage.fine:
            fine, cyst = True, cyst or stage.cyst_tested
        if stage.kind is StageKind.ULTRAFILTER:
            fine = cyst = True
        left = dict(stage.treat(fed, here).values)
        for code in HEALTH:
            if code in left and code not in stage.product.certified_for:
                left[code] = max(left[code], water[code])
        water = left
        if not tap:
            entry = left
    found += ["contact behind chlorine"] * untimed + ["filter behind chlorine"] * unfiltered
    if lost + pipe_and_rise_kpa + supply.worst_fixture_min_kpa > supply.cut_in_kpa + 1e-6:
        found.append("pressure")
    if static > 80.0 * 6.894757 + 0.01:  # 80 psi at no flow at most: IRC P2903.3.1
        found.append("static of the plumbing")
    if site.wall_m is not None and wall > site.wall_m + 1e-6:
        found.append("wall")
    if site.power_w is not None and watts > site.power_w + 1e-6:
        found.append("watts")
    wanted = goals.uv_dose
    risky = request.source is not SourceType.DRILLED_WELL
    if risky or any(request.water.get(code, 0) > 0 for code in ("total_coliform", "e_coli")):
        if goals.barrier_rule == "household":
            wanted = max(wanted, 40.0)
        else:
            # 40 CFR 141.70: 3 log Giardia, 4 log virus (2 log Cryptosporidium from memory). Health Canada 2019: 3 log
            # of protozoa, 4 log of viruses. Groundwater: viruses only.
            cysts = 2.0 if goals.barrier_rule == "us_public" else 3.0
            asked = {"cryptosporidium": cysts, "giardia": 3.0, "virus": 4.0} if risky else {"virus": 4.0}
            found += [f"logs {germ}" for germ, logs in asked.items() if earned.get(germ, 0.0) < logs - 1e-6]
    if dose < wanted - 1e-6:
        found.append("barrier")
    cold = {code: limit for code, limit in goals.at_entry.items() if not (only_hot and code == "hardness")}
    if only_hot and "hardness" in goals.at_entry:
        behind = entry if heated is None else heated
        if behind.get("hardness", 0.0) > goals.at_entry["hardness"]:
            found.append("goal hardness hot")
    for place, upper in ((entry, cold), (water, goals.at_tap)):
        found += [f"goal {code}" for code, limit in upper.items() if code in place and place[code] > limit]
    if "ph" in entry:
        if goals.ph_low is not None and entry["ph"] < goals.ph_low:
            found.append("goal ph")
        if goals.ph_high is not None and entry["ph"] > goals.ph_high:
            found.append("goal ph")
    return found


def _limited(duty, flow):
    from dataclasses import replace

    return replace(duty, flow_l_min=flow, peak_l_min=min(duty.peak_l_min, flow)) if flow < duty.flow_l_min else duty

package plant

import rego.v1

# The drawing as the design message states it, resolved here: data.kinds holds ports and passages of each kind.
kind[c.tag] := c.kind if some c in input.components

enter(stop) := sprintf("%s.%s", [stop.tag, stop.enter]) if stop.enter != ""
else := sprintf("%s.%s", [stop.tag, data.kinds[kind[stop.tag]].enter])

leave(stop) := sprintf("%s.%s", [stop.tag, stop.leave]) if stop.leave != ""
else := sprintf("%s.%s", [stop.tag, data.kinds[kind[stop.tag]].leave])

# Arcs of pipes, both ways.
pipe contains arc if {
	some line in input.lines
	some i, stop in line.route
	i + 1 < count(line.route)
	a := leave(stop)
	b := enter(line.route[i + 1])
	some arc in [[a, b], [b, a]]
}

# Passages inside components: from, to, tag, kind, forward.
passage contains [sprintf("%s.%s", [c.tag, p[0]]), sprintf("%s.%s", [c.tag, p[1]]), c.tag, c.kind] if {
	some c in input.components
	some p in data.kinds[c.kind].passages
}

both_ways := {"liquid_trap", "actuated_valve"}

barrier contains [a, b, tag] if {
	some [a, b, tag, k] in passage
	k in both_ways
}

barrier contains [b, a, tag] if {
	some [a, b, tag, k] in passage
	k in both_ways
}

barrier contains [b, a, tag] if {
	some [a, b, tag, "check_valve"] in passage
}

open_passage contains [a, b] if {
	some [a, b, _, k] in passage
	not k in both_ways
}

open_passage contains [b, a] if {
	some [a, b, _, k] in passage
	not k in both_ways
	k != "check_valve"
}

open_arc := pipe | open_passage

open_graph[a] contains b if some [a, b] in open_arc

sources contains sprintf("%s.%s", [c.tag, port]) if {
	some c in input.components
	c.kind == "venturi_injector"
	some port in ["motive_inlet", "outlet"]
}

boundary contains c.tag if {
	some c in input.components
	c.kind == "boundary"
	c.service in {"process_water", "ozonated_water"}
}

sources contains sprintf("%s.process", [tag]) if some tag in boundary

generator contains c.tag if {
	some c in input.components
	c.kind == "ozone_generator"
}

gas_port(tag) := sprintf("%s.ozone_gas", [tag])

# Question 1: barriers on the weakest path, counted to two.
unguarded := graph.reachable(open_graph, sources)

behind_one := graph.reachable(open_graph, {b | some [a, b, _] in barrier; a in unguarded})

behind_all := graph.reachable(every_graph, sources)

level(port) := 0 if port in unguarded

else := 1 if port in behind_one

else := 2 if port in behind_all

barriers[g] := level(gas_port(g)) if some g in generator

# Question 2: causes that alone open a path.
cause_of[c.tag] := {c.tag} | {s | some s in c.shares} if some c in input.components

members[cause] contains [a, b] if {
	some [a, b, tag] in barrier
	some cause in cause_of[tag]
}

first_beyond[cause] := graph.reachable(open_graph, {b | some [a, b] in arcs; a in unguarded}) if some cause, arcs in members

second_beyond[cause] := graph.reachable(open_graph, {b | some [a, b] in members[cause]; a in reached}) if {
	some cause, reached in first_beyond
	count(members[cause]) > 2
}

third_beyond[cause] := graph.reachable(open_graph, {b | some [a, b] in members[cause]; a in reached}) if some cause, reached in second_beyond

opened_by[port] contains cause if {
	some cause, reached in first_beyond
	some port in reached
}

opened_by[port] contains cause if {
	some cause, reached in second_beyond
	some port in reached
}

opened_by[port] contains cause if {
	some cause, reached in third_beyond
	some port in reached
}

causes[g] := object.get(opened_by, gas_port(g), set()) if {
	some g, n in barriers
	n > 0
}

# Question 3: a path that meets no shut-off valve.
every_passage contains arc if {
	some [a, b, _, _] in passage
	some arc in [[a, b], [b, a]]
}

every_graph[a] contains b if some [a, b] in pipe | every_passage

without_valve[a] contains b if some [a, b] in pipe

without_valve[a] contains b if {
	some [x, y, _, k] in passage
	k != "actuated_valve"
	some [a, b] in [[x, y], [y, x]]
}

past_valves := graph.reachable(without_valve, sources)

no_valve[g] := gas_port(g) in past_valves if some g, _ in barriers

# Question 4: a trap behind the last check valve; nodes are doubled by what was met last.
step[sprintf("%s|%s", [a, s])] contains sprintf("%s|%s", [b, s]) if {
	some [a, b] in pipe
	some s in ["never", "missing", "trap"]
}

step[sprintf("%s|%s", [a, s])] contains sprintf("%s|%s", [b, s]) if {
	some [x, y, _, k] in passage
	not k in {"check_valve", "liquid_trap"}
	some [a, b] in [[x, y], [y, x]]
	some s in ["never", "missing", "trap"]
}

step[sprintf("%s|%s", [a, s])] contains sprintf("%s|%s", [b, s]) if {
	some [a, b, _, "check_valve"] in passage
	some s in ["never", "missing", "trap"]
}

step[sprintf("%s|%s", [b, s])] contains sprintf("%s|missing", [a]) if {
	some [a, b, _, "check_valve"] in passage
	some s in ["never", "missing", "trap"]
}

step[sprintf("%s|%s", [a, t[0]])] contains sprintf("%s|%s", [b, t[1]]) if {
	some [x, y, _, "liquid_trap"] in passage
	some [a, b] in [[x, y], [y, x]]
	some t in [["never", "never"], ["missing", "trap"], ["trap", "trap"]]
}

run := graph.reachable(step, {sprintf("%s|never", [s]) | some s in sources})

no_trap[g] := sprintf("%s|missing", [gas_port(g)]) in run if some g, _ in barriers

# Question 5: the ports of a boundary's pressure zone, over passages that are open both ways.
both_open[a] contains b if {
	some [a, b] in open_arc
}

both_open[b] contains a if {
	some [a, b] in open_arc
}

zones[tag] := count(graph.reachable(both_open, {sprintf("%s.process", [tag])})) if some tag in boundary

answer := {"barriers": barriers, "causes": causes, "no_valve": no_valve, "no_trap": no_trap, "zones": zones}

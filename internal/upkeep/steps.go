package upkeep

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// purgeChanges is the number of times that purge gas replaces what it washes out: common practice, no source. In a space that mixes
// well exp(-5), under one hundredth, of the ozone is left.
const purgeChanges = 5

// leftInWater is the share of dissolved ozone that is left when water is taken as no longer giving it off: common practice, no
// source.
const leftInWater = 0.01

func (r *removal) stopCells() {
	if len(r.cells) == 0 {
		return
	}
	text := "Stop the ozone: switch " + r.names(r.cells) + " off"
	var by []int32
	for _, g := range r.cells {
		if c, ok := r.p.FindComponent(r.p.Components[g].Data.GetCommandedBy()); ok && !slices.Contains(by, c) {
			by = append(by, c)
		}
	}
	if len(by) > 0 && !slices.Contains(by, r.module) {
		text += " at " + r.names(by)
	}
	if r.ozone && r.w.Purge(r.module) != nil {
		text += ", and leave feed gas and water running"
	}
	r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_STOP, text+".", r.cells...)
}

// purge washes the ozone out with the feed gas while the injector draws.
func (r *removal) purge() {
	if !r.ozone || electric(r.p.Components[r.module].Kind) {
		return
	}
	plan := r.w.Purge(r.module)
	if plan == nil || len(plan.Sources) == 0 || len(plan.Way) == 0 {
		r.finding("", "ozone comes to "+r.tag+", and the drawing has no feed gas that washes it out; purge it from outside with dry gas fit for oxygen", r.module)
		return
	}
	text := "Wash the ozone out: let " + r.names(plan.Sources) + " feed through " + r.names(plan.Generators) + " with the cells off, until the gas has been changed five times."
	s := r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_PURGE, text, slices.Concat(plan.Sources, plan.Generators)...)
	s.Way = r.way(plan.Way)
	if v := plan.Volume; !math.IsInf(v.High, 0) && len(v.Missing) == 0 {
		s.VolumeM3 = &v.High
	}
	if t := plan.Change; len(t.Missing) == 0 && !math.IsInf(t.High, 0) {
		d := purgeChanges * t.High
		s.DurationS = &d
	}
	s.Missing = plant.Paths(r.p, fact.JoinRefs(plan.Volume.Missing, plan.Change.Missing))
	if inWater := r.stillGivingOff(); len(inWater) > 0 {
		r.outgassing(inWater)
	}
}

// stillGivingOff lists the vessels whose water still gives ozone off to the module.
func (r *removal) stillGivingOff() []int32 {
	return r.shutInOf(plant.KindContactVessel, plant.KindReactionVessel, plant.KindDegassingVessel)
}

func (r *removal) outgassing(vessels []int32) {
	s := r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_PURGE,
		"Wait until the water of "+r.names(vessels)+" gives off no more ozone: to a hundredth of what it held.", vessels...)
	if k := r.p.Basis.OzoneDecayPerS; k != nil && *k > 0 {
		d := math.Log(1/leftInWater) / *k
		s.DurationS = &d
		return
	}
	s.Missing = []string{"basis.ozone_decay"}
}

func (r *removal) stopFeeds() {
	if len(r.feeds) > 0 {
		r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_STOP, "Stop "+r.names(r.feeds)+".", r.feeds...)
	}
}

// letDown lets gas go by its normal way while that is still open: to an injector, which draws only while water runs, or where
// nothing inside the shut valves lets it out. Elsewhere it is vented once mains and supplies are shut off.
func (r *removal) letDown() {
	if !r.gas {
		return
	}
	path, end := r.w.LetDownWay(r.module)
	if end < 0 || end == r.module {
		return
	}
	if _, inside := r.w.VentInside(r.module, r.iso); inside >= 0 && r.p.Components[end].Kind != plant.KindVenturiInjector {
		return
	}
	text := "Let the gas of " + r.tag + " go by its normal way to " + r.p.Components[end].Tag
	if r.p.Components[end].Kind == plant.KindVenturiInjector {
		text += ", which draws"
	}
	if held := r.on(path, plant.KindBackPressureValve); len(held) > 0 {
		text += "; back " + r.names(held) + " off by hand"
	}
	r.letTo = end
	s := r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_LET_DOWN, text+".", end)
	s.Way = r.way(path)
}

func (r *removal) stopPumps() {
	if len(r.pumps) > 0 {
		r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_STOP, "Stop "+r.names(r.pumps)+".", r.pumps...)
	}
}

// shut closes the valves.
func (r *removal) shut() {
	if electric(r.p.Components[r.module].Kind) {
		return
	}
	var hand, already, driven []int32
	for _, c := range r.iso.Valves {
		switch d := r.p.Components[c].Data; {
		case r.p.Components[c].Kind == plant.KindActuatedValve:
			driven = append(driven, c)
		case d.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED:
			already = append(already, c)
		default:
			hand = append(hand, c)
		}
	}
	say := func(text string, about ...int32) *skidrulev1.RemovalStep {
		return r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_SHUT, text, about...)
	}
	if len(hand) > 0 {
		say("Shut "+r.names(hand)+".", hand...)
	}
	if len(already) > 0 {
		say("Make sure that "+r.names(already)+" is shut.", already...)
	}
	for _, c := range driven {
		if r.p.Components[c].Data.GetFailPosition() == skidrulev1.FailPosition_FAIL_POSITION_CLOSED {
			say("Take the power from "+r.p.Components[c].Tag+": it closes without.", c)
			continue
		}
		s := say("Take the power from "+r.p.Components[c].Tag+", if it closes without.", c)
		s.Missing = []string{"components." + r.p.Components[c].Tag + ".fail_position"}
	}
	if r.p.Components[r.module].Kind == plant.KindGasSupply {
		say("Shut the valve of "+r.tag+" itself.", r.module)
	}
	if len(r.iso.Second) > 0 {
		say("Shut "+r.names(r.iso.Second)+" as well: a second row against ozone.", r.iso.Second...)
	}
	if len(r.iso.Open) > 0 {
		say("Have "+r.names(r.iso.Open)+" shut off beyond the drawing: no valve in it does.", r.iso.Open...)
	}
	if len(r.iso.Valves)+len(r.iso.Open) == 0 {
		text := "Nothing to shut: no other part of the drawing holds or brings pressure to what is stopped with " + r.tag + "."
		if len(r.iso.Checks) > 0 {
			text = "No valve can be shut: " + r.names(r.iso.Checks) + " alone holds back."
		}
		say(text, r.iso.Checks...)
	}
}

// toLock lists what is locked out of its power: the module, the machines that stop, the supplies of cells, valves that closed.
func (r *removal) toLock() []int32 {
	var out []int32
	push := func(c int32) {
		if r.p.Components[c].TakesPower() && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	push(r.module)
	for _, list := range [][]int32{r.cells, r.feeds, r.pumps} {
		for _, c := range list {
			push(c)
			for _, tag := range r.p.Components[c].Data.GetOzoneGenerator().GetPowerSupplies() {
				if s, ok := r.p.FindComponent(tag); ok {
					push(s)
				}
			}
		}
	}
	for _, c := range r.iso.Valves {
		push(c)
	}
	slices.Sort(out)
	return out
}

// lock locks power and valves.
func (r *removal) lock() {
	const action = skidrulev1.RemovalAction_REMOVAL_ACTION_LOCK
	byFeed := map[string][]int32{}
	var feeds []string
	var missing []string
	list := r.toLock()
	for _, c := range list {
		feed := r.p.Components[c].Data.GetPowerFeed()
		if feed == "" {
			missing = append(missing, "components."+r.p.Components[c].Tag+".power_feed")
			continue
		}
		if byFeed[feed] == nil {
			feeds = append(feeds, feed)
		}
		byFeed[feed] = append(byFeed[feed], c)
	}
	for _, feed := range feeds {
		text := "Lock " + r.names(byFeed[feed]) + " out at power feed " + feed
		if others := r.alsoOn(feed, byFeed[feed]); len(others) > 0 {
			text += ", each at a switch of its own: the feed drives " + r.names(others) + " too"
		}
		r.add(action, text+".", byFeed[feed]...)
	}
	if len(missing) > 0 {
		s := r.add(action, "Lock out of their power what names no power feed, and find that feed first.")
		s.Missing = missing
	}
	for _, c := range list {
		if air := r.p.Components[c].Data.GetAirFeed(); air != "" {
			r.add(action, "Shut the air feed "+air+" of "+r.p.Components[c].Tag+" off and let it down.", c)
		}
	}
	var can, cannot []int32
	missing = nil
	for _, c := range slices.Concat(r.iso.Valves, r.iso.Second) {
		d := r.p.Components[c].Data
		switch {
		case r.p.Components[c].Kind != plant.KindHandValve:
		case d.GetHandValve().GetLockable() || d.GetLocked():
			can = append(can, c)
		default:
			cannot = append(cannot, c)
			if d.GetHandValve().Lockable == nil {
				missing = append(missing, "components."+r.p.Components[c].Tag+".hand_valve.lockable")
			}
		}
	}
	if len(can) > 0 {
		r.add(action, "Lock and tag "+r.names(can)+" shut.", can...)
	}
	if len(cannot) > 0 {
		s := r.add(action, "Tag "+r.names(cannot)+" and take the handles off: no lock is stated for them.", cannot...)
		s.Missing = missing
	}
}

// alsoOn lists what else a power feed drives.
func (r *removal) alsoOn(feed string, locked []int32) []int32 {
	var out []int32
	for i := range r.p.Components {
		if c := int32(i); r.p.Components[i].Data.GetPowerFeed() == feed && !slices.Contains(locked, c) {
			out = append(out, c)
		}
	}
	return out
}

// vent lets out the gas that the valves have shut in.
func (r *removal) vent() {
	if !r.gas {
		return
	}
	path, end := r.w.VentInside(r.module, r.iso)
	if end < 0 || end == r.letTo {
		// Where it was let down it stays open.
		return
	}
	text := "Vent what is shut in by " + r.p.Components[end].Tag
	if r.ozone && len(r.on(path, plant.KindOzoneDestruct)) == 0 && r.p.Components[r.module].Kind != plant.KindOzoneDestruct {
		text += ", after the ozone is washed out only: no destruct lies on that way"
	}
	s := r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_VENT, text+".", end)
	s.Way = r.way(path)
	r.ventEnd(s, end)
}

// ventEnd judges where a vent leads: outdoors, or to where people are.
func (r *removal) ventEnd(s *skidrulev1.RemovalStep, end int32) {
	tag := r.p.Components[end].Tag
	switch r.p.Components[end].Kind {
	case plant.KindAtmosphereVent:
		switch r.p.Components[end].Data.GetAtmosphereVent().GetLocation() {
		case skidrulev1.VentLocation_VENT_LOCATION_UNSPECIFIED:
			s.Missing = append(s.Missing, "components."+tag+".atmosphere_vent.location")
		case skidrulev1.VentLocation_VENT_LOCATION_INDOORS:
			r.finding("", tag+", by which "+r.tag+" is vented, ends indoors", end)
		}
	case plant.KindSamplePoint, plant.KindHandValve:
		r.finding("", tag+", by which "+r.tag+" is vented, opens into the room: lead a hose from it to a safe place", end)
	}
}

// drainEnd judges where a drain leads: to a place that cannot push back.
func (r *removal) drainEnd(s *skidrulev1.RemovalStep, end int32) {
	c := &r.p.Components[end]
	if c.Kind == plant.KindDrainPoint {
		switch c.Data.GetDrainPoint().GetLeadsTo() {
		case skidrulev1.DrainDestination_DRAIN_DESTINATION_UNSPECIFIED:
			s.Missing = append(s.Missing, "components."+c.Tag+".drain_point.leads_to")
		case skidrulev1.DrainDestination_DRAIN_DESTINATION_CLOSED_SYSTEM, skidrulev1.DrainDestination_DRAIN_DESTINATION_PROCESS:
			r.finding("", c.Tag+", by which "+r.tag+" is drained, leads to a system that can push back", end)
		}
	}
}

// drain empties what stands in water.
func (r *removal) drain() {
	if !r.wet {
		return
	}
	path, end := r.w.DrainInside(r.module, r.iso)
	vessels := r.names(r.iso.RunsOut)
	if end < 0 {
		text := "Catch or pump off the water of " + r.tag
		if vessels != "" {
			text += " and of " + vessels
		}
		about := append([]int32{r.module}, r.iso.RunsOut...)
		r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_DRAIN, text+": no drain in the drawing empties it.", about...)
		r.finding("", "no drain in the drawing empties what is shut in with "+r.tag, about...)
		return
	}
	text := "Drain by " + r.p.Components[end].Tag
	if vessels != "" {
		text += ", the water of " + vessels + " too"
	}
	s := r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_DRAIN, text+".", append([]int32{end}, r.iso.RunsOut...)...)
	s.Way = r.way(path)
	r.drainEnd(s, end)
}

// prove says by what it is seen that nothing is left.
func (r *removal) prove() {
	const action = skidrulev1.RemovalAction_REMOVAL_ACTION_PROVE
	if electric(r.p.Components[r.module].Kind) {
		r.add(action, "Wait as long as the maker of "+r.tag+" says, and measure that no voltage is left.", r.module)
		return
	}
	gauges := r.shutInOf(plant.KindPressureGauge)
	if len(gauges) > 0 {
		r.add(action, "See that no pressure is left: by "+r.names(gauges)+".", gauges...)
	} else {
		r.add(action, "No gauge stands in what is shut in: loosen the first joint a little and wait until nothing comes.", r.module)
	}
	if r.ozone {
		var rooms []int32
		for i := range r.p.Components {
			if r.p.Components[i].Kind == plant.KindAmbientOzoneMonitor {
				rooms = append(rooms, int32(i))
			}
		}
		if len(rooms) > 0 {
			r.add(action, "See that no ozone comes into the room: by "+r.names(rooms)+".", rooms...)
		} else {
			r.add(action, "Measure that no ozone comes into the room: the drawing has no monitor.")
		}
	}
	if r.p.Components[r.module].TakesPower() {
		r.add(action, "Measure that no voltage is left at "+r.tag+".", r.module)
	}
}

// undo takes the joints apart.
func (r *removal) undo() {
	const action = skidrulev1.RemovalAction_REMOVAL_ACTION_UNDO
	if r.p.Components[r.module].TakesPower() {
		r.add(action, "Undo the cables of "+r.tag+".", r.module)
	}
	for _, port := range joined(r.p, r.module) {
		text := r.p.PortLabel(port)
		made, at := r.joint(port)
		if made != "" {
			text += " (" + made + ")"
		}
		if at != "" {
			text += ", line " + at
		}
		s := r.add(action, "Undo "+text+".", r.module)
		switch t := r.w.ComesApart(port); t.Value {
		case fact.False:
			s.Text = "Cut " + text + ": it does not come apart."
		case fact.Undecided:
			s.Missing = plant.Paths(r.p, t.Missing)
		}
	}
}

// joint says how the end at a port is made, and of which line.
func (r *removal) joint(port int32) (made, line string) {
	made = designfile.EnumWord(r.p.Ports[port].Stated.GetConnection())
	for _, way := range r.p.WaysAt(port) {
		q := &r.p.Ways[way]
		if !q.IsPipe() {
			continue
		}
		line = r.p.Lines[q.Line].Tag
		if made == "" {
			made = designfile.EnumWord(r.p.Lines[q.Line].Data.GetConnection())
		}
		if c := r.p.Ports[q.From+q.To-port].Component; r.p.Components[c].Kind == plant.KindUnion {
			return "union " + r.p.Components[c].Tag, line
		}
	}
	return designfile.Spoken(made), line
}

// closeEnds closes what stands open.
func (r *removal) closeEnds() {
	ends := joined(r.p, r.module)
	if len(ends) == 0 {
		return
	}
	oxygen := false
	for _, port := range ends {
		for _, way := range r.p.WaysAt(port) {
			if line := r.p.Ways[way].Line; line >= 0 && r.p.Lines[line].Data.GetOxygenCleaned() {
				oxygen = true
			}
		}
	}
	text := "Close the open ends of the lines at once"
	if oxygen {
		text += ", with caps cleaned for oxygen"
	}
	r.add(skidrulev1.RemovalAction_REMOVAL_ACTION_CLOSE_ENDS, text+".", r.module)
}

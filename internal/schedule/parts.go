package schedule

import (
	"strings"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// parts lists every component.
func (l *lister) parts() *skidrulev1.Schedule {
	t := newTable("Parts")
	t.texts("Tag", "Type", "Title", "Part", "Model", "Train")
	t.column("Rated pressure", "pressure_gauge")
	t.column("Lowest pressure", "pressure_gauge")
	t.column("Lowest temperature", "temperature")
	t.column("Highest temperature", "temperature")
	t.texts("Body", "Seal", "Cleaned for oxygen", "Power feed")
	t.column("Service interval", "duration")
	t.texts("Wearing parts")
	t.column("Elevation", "length")
	t.texts("In use")
	for _, c := range l.components() {
		q := &l.p.Components[c]
		d := q.Data
		use := say("yes")
		if d.GetOutOfUse() {
			use = say("no")
		}
		wetted, kept := len(q.Kind.Info().Ports) > 0 && !drawnOnly(q.Kind), !drawnOnly(q.Kind) && !passive(q.Kind)
		power := stated(d.GetPowerFeed(), l.path(c, "power_feed"))
		t.row(say(q.Tag), say(q.Kind.Info().Title), say(d.GetTitle()), say(q.Stated.GetPart()), say(d.GetModel()), say(d.GetTrain()),
			where(wetted, l.designPressure(d.MaxPressurePaGauge, d.GetPressureTable(), l.path(c, "max_pressure"))),
			where(wetted, number(d.MinPressurePaGauge, l.path(c, "min_pressure"))),
			where(wetted, number(d.MinTemperatureK, l.path(c, "min_temperature"))), where(wetted, number(d.MaxTemperatureK, l.path(c, "max_temperature"))),
			where(wetted, choice(d.GetBodyMaterial(), l.path(c, "body_material"))), where(wetted, choice(d.GetSealMaterial(), l.path(c, "seal_material"))),
			where(wetted, yesNo(d.OxygenCleaned, l.path(c, "oxygen_cleaned"))), where(q.TakesPower(), power),
			where(kept, number(d.ServiceIntervalS, l.path(c, "service_interval"))),
			where(kept, stated(strings.Join(d.GetWearingParts(), ", "), l.path(c, "wearing_parts"))),
			where(q.NumPorts > 0, number(d.ElevationM, l.path(c, "elevation"))), use)
	}
	return t.out
}

// where gives a cell where it applies, and one that is stated all the same.
func where(applies bool, c *skidrulev1.ScheduleCell) *skidrulev1.ScheduleCell {
	if !applies && c.NotStated {
		return not()
	}
	return c
}

// drawnOnly tells what stands in the drawing and not in the store.
func drawnOnly(k plant.Kind) bool { return k == plant.KindBoundary || k == plant.KindJunction }

// passive tells the parts that nobody services.
func passive(k plant.Kind) bool {
	switch k {
	case plant.KindTee, plant.KindHeader, plant.KindAdapter, plant.KindUnion, plant.KindCap, plant.KindDrainPoint, plant.KindAtmosphereVent, plant.KindRestrictionOrifice:
		return true
	}
	return false
}

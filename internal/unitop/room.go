package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// Limits for people in rooms, as mole fractions.
const (
	// OzoneLimit8h is the eight-hour exposure limit of ozone, 0.1 ppm.
	// Source: ACGIH TLV for light work, 0.10 ppm, as listed by OSHA.
	OzoneLimit8h = 0.1e-6

	// OxygenDeficient is the threshold of an oxygen-deficient atmosphere.
	// Source: 29 CFR 1910.146(b), 19.5 vol %, verified by a letter of
	// interpretation of OSHA (2 April 2007).
	OxygenDeficient = 0.195
)

// RoomInput describes a room and a leak into it.
type RoomInput struct {
	Volume      float64     // air in m3, above 0 to 1e6
	AirChanges  fluid.Range // fresh air, room volumes per second, 0 to 1 (1/h is 2.78e-4)
	Temperature float64     // K, 250 to 320
	Pressure    float64     // Pa abs, 5e4 to 1.1e5
	Leak        fluid.Gas   // composition of the leaking gas (mole fractions)
	LeakFlow    fluid.Range // mol/s, 0 to 1000
	OzoneDecay  fluid.Range // loss of ozone in room air and on walls in 1/s, 0 to 1; zero is the safe end
	Oxygen      float64     // mole fraction of oxygen in room and fresh air at the start, 0 to 1; 0.209 in clean air
	Time        float64     // time after the leak begins in s, 0 to 1e9
}

// RoomGas is one gas in the room.
type RoomGas struct {
	AtTime fluid.Range // mole fraction at Time
	Steady fluid.Range // mole fraction after a long time
}

// Room is the air of a well-mixed room after a leak.
type Room struct {
	Ozone  RoomGas
	Oxygen RoomGas

	// NearLeakOzone and NearLeakOxygen bound what a person meets between the
	// leak and the far wall: one end is the mixed room at Time, which the place
	// near the leak exceeds, the other the undiluted gas. For ozone the low end
	// is therefore a lower bound near the leak.
	NearLeakOzone  fluid.Range
	NearLeakOxygen fluid.Range

	// Displacement is the leak over the fresh air by volume; zero without fresh
	// air. Above 0.1 the leak airs the room itself.
	Displacement fluid.Range
}

// roomCase holds exact values: rates in 1/s.
type roomCase struct {
	air, leak, decay float64
}

// steady returns the mole fraction after a long time of a gas of which fresh
// air holds fresh and the leak holds source.
func (c roomCase) steady(fresh, source, start float64) float64 {
	out := c.air + c.leak + c.decay
	if out == 0 {
		return start
	}
	return (c.air*fresh + c.leak*source) / out
}

// at returns the mole fraction after a time.
func (c roomCase) at(fresh, source, start, time float64) float64 {
	end := c.steady(fresh, source, start)
	return end + (start-end)*math.Exp(-(c.air+c.leak+c.decay)*time)
}

// LeakIntoRoom returns ozone and oxygen in a well-mixed room of constant
// pressure into which gas leaks while fresh air passes through:
// V dx/dt = Q x_fresh + q x_leak - (Q + q + k V) x.
//
// Ozone is absent at the start and in fresh air. Low and high are the extremes
// over the ends of air changes, leak and ozone decay. Real rooms mix badly:
// near the leak the concentration is higher, for which the mixed value is a
// lower bound. Outside the ranges of [RoomInput]: an error.
//
// Source: balance of a stirred room, the same as the purge times of CDC MMWR
// 43(RR-13), Table S3-1.
func LeakIntoRoom(in RoomInput) (Room, error) {
	if err := in.check(); err != nil {
		return Room{}, err
	}
	state := func(c roomCase) Room {
		o := c
		o.decay = 0
		r := Room{
			Ozone: RoomGas{
				AtTime: fluid.Exact(c.at(0, in.Leak.O3, 0, in.Time)),
				Steady: fluid.Exact(c.steady(0, in.Leak.O3, 0)),
			},
			Oxygen: RoomGas{
				AtTime: fluid.Exact(o.at(in.Oxygen, in.Leak.O2, in.Oxygen, in.Time)),
				Steady: fluid.Exact(o.steady(in.Oxygen, in.Leak.O2, in.Oxygen)),
			},
		}
		if c.air > 0 {
			r.Displacement = fluid.Exact(c.leak / c.air)
		}
		return r
	}
	cases := in.cases()
	r := state(cases[0])
	for _, c := range cases[1:] {
		s := state(c)
		for _, p := range [...]struct{ to, from *fluid.Range }{
			{&r.Ozone.AtTime, &s.Ozone.AtTime}, {&r.Ozone.Steady, &s.Ozone.Steady},
			{&r.Oxygen.AtTime, &s.Oxygen.AtTime}, {&r.Oxygen.Steady, &s.Oxygen.Steady},
			{&r.Displacement, &s.Displacement},
		} {
			*p.to = p.to.Envelope(*p.from)
		}
	}
	r.NearLeakOzone = r.Ozone.AtTime.Envelope(fluid.Exact(in.Leak.O3))
	r.NearLeakOxygen = r.Oxygen.AtTime.Envelope(fluid.Exact(in.Leak.O2))
	return r, nil
}

// cases are the best values and, behind them, every combination of the ends of air changes, leak and ozone decay.
func (in RoomInput) cases() [9]roomCase {
	content := in.Volume * in.Pressure / (fluid.GasConstant * in.Temperature) // mol
	all := [9]roomCase{{in.AirChanges.Best, in.LeakFlow.Best / content, in.OzoneDecay.Best}}
	for corner := range 8 {
		pick := func(bit int, x fluid.Range) float64 {
			if corner>>bit&1 == 0 {
				return x.Low
			}
			return x.High
		}
		all[1+corner] = roomCase{pick(0, in.AirChanges), pick(1, in.LeakFlow) / content, pick(2, in.OzoneDecay)}
	}
	return all
}

// check returns an error that names the input at fault.
func (in RoomInput) check() error {
	if err := in.Leak.Check(); err != nil {
		return err
	}
	if err := positive("room volume", in.Volume, 1e6, "m3"); err != nil {
		return err
	}
	if err := checkRange("air changes", in.AirChanges, 0, 1, "1/s"); err != nil {
		return err
	}
	if err := checkRange("leak flow", in.LeakFlow, 0, 1000, "mol/s"); err != nil {
		return err
	}
	if err := checkRange("ozone decay in room air", in.OzoneDecay, 0, 1, "1/s"); err != nil {
		return err
	}
	return within(
		limit{"room temperature", in.Temperature, 250, 320, "K"},
		limit{"room pressure (absolute)", in.Pressure, 5e4, 1.1e5, "Pa"},
		limit{"oxygen in room air", in.Oxygen, 0, 1, ""},
		limit{"time", in.Time, 0, 1e9, "s"},
	)
}

// Reach is when a limit is reached.
type Reach struct {
	Reached bool        // whether the best case reaches it at all
	May     bool        // whether any case does
	Time    fluid.Range // s from the start of the leak; only cases that reach it count; zero when none does
}

// TimeToOzone returns the time after which the mixed room reaches a mole
// fraction of ozone: -ln(1 - level/steady)/(Q/V + q/V + k).
//
//   - in: room and leak; Time is not used.
//   - level: mole fraction, above 0 to 1 (0.1e-6 is 0.1 ppm).
//
// A level that is never reached is no error: Reached and May say so. Outside
// the range: an error.
func TimeToOzone(in RoomInput, level float64) (Reach, error) {
	if err := in.check(); err != nil {
		return Reach{}, err
	}
	if err := positive("ozone limit", level, 1, ""); err != nil {
		return Reach{}, err
	}
	return in.reach(func(c roomCase) (float64, bool) { return c.timeTo(0, in.Leak.O3, 0, level) })
}

// TimeToOxygen returns the time after which oxygen in the mixed room has moved
// from its start to a mole fraction, up (enrichment) or down (depletion).
//
//   - in: room and leak; Time is not used.
//   - level: mole fraction, 0 to 1.
//
// A level that is never reached is no error: Reached and May say so. Outside
// the range: an error.
func TimeToOxygen(in RoomInput, level float64) (Reach, error) {
	if err := in.check(); err != nil {
		return Reach{}, err
	}
	if err := within(limit{"oxygen limit", level, 0, 1, ""}); err != nil {
		return Reach{}, err
	}
	return in.reach(func(c roomCase) (float64, bool) {
		c.decay = 0
		return c.timeTo(in.Oxygen, in.Leak.O2, in.Oxygen, level)
	})
}

// timeTo returns the time in s after which a gas moves from start to level,
// and whether it ever does.
func (c roomCase) timeTo(fresh, source, start, level float64) (float64, bool) {
	if level == start {
		return 0, true
	}
	end := c.steady(fresh, source, start)
	left := (end - level) / (end - start)
	// A share at or below zero, or above one, lies beyond the end or on the
	// other side of the start; 0/0 (no movement) fails both comparisons.
	if !(left > 0 && left <= 1) {
		return 0, false
	}
	return -math.Log(left) / (c.air + c.leak + c.decay), true
}

// reach collects the times of best and all corners.
func (in RoomInput) reach(timeTo func(roomCase) (float64, bool)) (Reach, error) {
	var r Reach
	for i, c := range in.cases() {
		t, ok := timeTo(c)
		switch {
		case !ok:
		case !r.May:
			r.Reached, r.May, r.Time = i == 0, true, fluid.Exact(t)
		default:
			r.Time = r.Time.Envelope(fluid.Exact(t))
		}
	}
	if r.May && !r.Reached {
		// The best case never gets there: of the others the soonest counts.
		r.Time.Best = r.Time.Low
	}
	return r, nil
}

// VentilationForOzone returns the fresh air in m3/s that holds ozone at a mole
// fraction against a steady source: G/(x M p/(R T)), less what the source
// itself brings, which is neglected.
//
//   - source: ozone in kg/s, not negative, to 1.
//   - level: mole fraction to hold, above 0 to 0.01.
//   - t: room temperature in K, 250 to 320.
//   - p: room pressure in Pa abs, 5e4 to 1.1e5.
//
// Outside the range: an error.
//
// Source: balance of a stirred room at steady state.
func VentilationForOzone(source fluid.Range, level, t, p float64) (fluid.Range, error) {
	if err := checkRange("ozone source", source, 0, 1, "kg/s"); err != nil {
		return fluid.Range{}, err
	}
	if err := positive("ozone limit", level, 0.01, ""); err != nil {
		return fluid.Range{}, err
	}
	if err := within(limit{"room temperature", t, 250, 320, "K"}, limit{"room pressure (absolute)", p, 5e4, 1.1e5, "Pa"}); err != nil {
		return fluid.Range{}, err
	}
	return source.Scale(fluid.GasConstant * t / (level * fluid.MolarMassO3 * p)), nil
}

// PurgeTime returns the time in s in which a stirred room or vessel is freed of
// a share of what it holds: -ln(1 - removed)/rate.
//
//   - removed: share that is gone, above 0 to below 1.
//   - rate: air changes in 1/s, above 0 to 1.
//
// Outside the range: an error.
//
// Source: CDC MMWR 43(RR-13), 28 October 1994, Table S3-1.
func PurgeTime(removed float64, rate fluid.Range) (fluid.Range, error) {
	if err := positive("share removed", removed, 1, ""); err != nil {
		return fluid.Range{}, err
	}
	if removed == 1 {
		return fluid.Range{}, fmt.Errorf("share removed is 1: %w: dilution never removes everything", fluid.ErrOutOfRange)
	}
	if err := positiveRange("air changes", rate, 1, "1/s"); err != nil {
		return fluid.Range{}, err
	}
	return rate.Map(func(k float64) float64 { return -math.Log1p(-removed) / k }), nil
}

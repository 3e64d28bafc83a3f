package operate

import "github.com/skidrule/skidrule/internal/network"

// Extreme is the highest or lowest value over all cases, with the case that sets it.
type Extreme struct {
	Value float64
	Case  int // -1 where no case knows it
	// Open lists data without which a case that may set it is unknown.
	Open []Datum
	// Beyond lists curves and tables that end before the state of the case that sets it: the value is then their continuation.
	Beyond []Datum
}

// HighestPressure is the highest gauge pressure of a port over all cases, in Pa.
func (s *States) HighestPressure(port int32) Extreme {
	return s.extreme(port, func(st *State, q *PortState) (float64, []Datum, bool) {
		return q.Pressure.High - st.Atmosphere, q.Missing, q.Known
	}, 1)
}

// LowestPressure is the lowest gauge pressure of a port over all cases, in Pa.
func (s *States) LowestPressure(port int32) Extreme {
	return s.extreme(port, func(st *State, q *PortState) (float64, []Datum, bool) {
		return q.Pressure.Low - st.Atmosphere, q.Missing, q.Known
	}, -1)
}

// HighestTemperature is the highest temperature of a port over all cases, in K.
func (s *States) HighestTemperature(port int32) Extreme {
	return s.extreme(port, func(_ *State, q *PortState) (float64, []Datum, bool) {
		return q.Temperature.High, s.temperatureLacks(q), q.Temperature.Low <= q.Temperature.High
	}, 1)
}

// LowestTemperature is the lowest temperature of a port over all cases, in K.
func (s *States) LowestTemperature(port int32) Extreme {
	return s.extreme(port, func(_ *State, q *PortState) (float64, []Datum, bool) {
		return q.Temperature.Low, s.temperatureLacks(q), q.Temperature.Low <= q.Temperature.High
	}, -1)
}

// temperatureLacks names what is not stated of the temperature of a port.
func (s *States) temperatureLacks(q *PortState) []Datum {
	b := s.Plant.Basis
	var out []Datum
	lack := func(x *float64, field string) {
		if x == nil {
			out = joinData(out, []Datum{{DatumBasis, 0, field}})
		}
	}
	switch q.Phase {
	case network.Liquid:
		lack(b.WaterTemperatureK, "water_temperature")
	case network.Gas:
		lack(b.MinAmbientTemperatureK, "min_ambient_temperature")
		lack(b.MaxAmbientTemperatureK, "max_ambient_temperature")
	}
	return out
}

func (s *States) extreme(port int32, read func(*State, *PortState) (value float64, lacks []Datum, ok bool), sign float64) Extreme {
	e := Extreme{Case: -1}
	for i, st := range s.States {
		if st == nil {
			continue
		}
		v, lacks, ok := read(st, &st.Ports[port])
		if !ok {
			e.Open = joinData(e.Open, lacks)
			continue
		}
		if e.Case < 0 || sign*v > sign*e.Value {
			e.Value, e.Case, e.Beyond = v, i, st.Ports[port].Beyond
		}
	}
	return e
}

package quantity

// pipe is one size of pipe.
type pipe struct {
	nps     float64 // NPS designation
	dn      float64 // DN designation
	outside float64 // outside diameter in m; 0 where it is not listed here
}

// pipes lists the sizes of pipe, smallest first.
//
// Source of the pairs: ASME B36.10M-2018, table 1, which lists NPS and DN side
// by side; the DN after ISO 6708:1995. Source of the outside diameters:
// ASME B36.10M-2018, table 1, SI columns, NPS 1/8 to 12.
var pipes = []pipe{
	{0.125, 6, 0.0103},
	{0.25, 8, 0.0137},
	{0.375, 10, 0.0171},
	{0.5, 15, 0.0213},
	{0.75, 20, 0.0267},
	{1, 25, 0.0334},
	{1.25, 32, 0.0422},
	{1.5, 40, 0.0483},
	{2, 50, 0.0603},
	{2.5, 65, 0.0730},
	{3, 80, 0.0889},
	{3.5, 90, 0.1016},
	{4, 100, 0.1143},
	{5, 125, 0.1413},
	{6, 150, 0.1683},
	{8, 200, 0.2191},
	{10, 250, 0.2730},
	{12, 300, 0.3238},
	{14, 350, 0},
	{16, 400, 0},
	{18, 450, 0},
	{20, 500, 0},
	{22, 550, 0},
	{24, 600, 0},
}

func (p pipe) designation(system SizeSystem) float64 {
	if system == DN {
		return p.dn
	}
	return p.nps
}

// Same reports whether a and b are the same size of connection: the same
// designation or diameter in one system, or the NPS and DN of one row of
// ASME B36.10M (NPS 1/2 is DN 15). A pipe is never the same as a tube or hose,
// whatever their diameters, and nothing is the same as an invalid size.
func Same(a, b NominalSize) bool {
	if !a.Valid() || !b.Valid() {
		return false
	}
	if a.System == b.System {
		return a.Value == b.Value
	}
	if a.System > DN || b.System > DN {
		return false
	}
	for _, p := range pipes {
		if p.designation(a.System) == a.Value {
			return p.designation(b.System) == b.Value
		}
	}
	return false
}

// OutsideDiameter returns the outside diameter in m where it is known: the
// diameter of a tube itself, and that of pipe NPS 1/8 to 12.
//
// A DN alone has none: pipe of the same DN made to ISO 4200 and to ASME B36.10M
// differs in some sizes. Nor has a hose.
//
// Source: ASME B36.10M-2018, table 1.
func (s NominalSize) OutsideDiameter() (metres float64, known bool) {
	switch {
	case !s.Valid():
		return 0, false
	case s.System == TubeOD:
		return s.Value, true
	case s.System == NPS:
		for _, p := range pipes {
			if p.nps == s.Value && p.outside > 0 {
				return p.outside, true
			}
		}
	}
	return 0, false
}

// InsideDiameter returns the inside diameter in m of a hose. That of pipe and
// tube depends on the wall, which the size does not state.
func (s NominalSize) InsideDiameter() (metres float64, known bool) {
	if s.System == HoseID && s.Valid() {
		return s.Value, true
	}
	return 0, false
}

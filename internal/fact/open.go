package fact

// KeepOpen prepares a world for a design some of whose parts are not chosen yet: the state of an injector is then the solved one
// or unknown, never that which the drawing states along the water's way. The two come from different models and differ a little,
// so that a fact which went over from one to the other as parts are filled in could lie outside the range that it had before.
// With this a rule that is broken stays broken whatever parts are chosen. It must be called before the first fact is asked for.
//
// Plants too large to be solved rest on what the drawing states in any case, and are left alone.
func (w *World) KeepOpen() {
	w.sizing.keepOpen = len(w.Plant.Components) <= largestSolved
}

// openState is what a world that is kept open knows of an injector whose case is not solved.
func (w *World) openState(injector, at int32, stated *operatingState) *operatingState {
	if stated == nil {
		return nil
	}
	first := w.Plant.Components[injector].FirstPort
	if w.solvedBeyond(injector, at) {
		// What is lacking is no datum: the whole design will rest on what the drawing states as well.
		return stated
	}
	var lacks Number
	for _, port := range [2]int32{first, first + 2} {
		lacks.Missing = joinRefs(lacks.Missing, w.solvedPressure(port, max(at, 0)).Missing)
	}
	if len(lacks.Missing) == 0 {
		// Facts tell a number of which nothing is known by what it lacks.
		lacks.Missing = []Ref{{Kind: RefCase, Field: "solved"}}
	}
	s := unknownState(lacks, stated.contact)
	s.beyond = stated.beyond
	return s
}

// solvedBeyond tells whether the state of an injector is solved and of no use, since it lies outside a table or a curve.
func (w *World) solvedBeyond(injector, at int32) bool {
	st := w.solvedCase(max(at, 0))
	if st == nil {
		return false
	}
	first := w.Plant.Components[injector].FirstPort
	if !st.Ports[first].Known || !st.Ports[first+2].Known {
		return false
	}
	for i := range w.Plant.Ways {
		if q := &w.Plant.Ways[i]; q.From == first && q.To == first+2 {
			return st.Ways[i].Known
		}
	}
	return false
}

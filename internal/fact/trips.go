package fact

// tripsMemo is what the instrument and trip facts compute once.
type tripsMemo struct{}

var tripsFacts = []Definition{}

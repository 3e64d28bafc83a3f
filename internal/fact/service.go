package fact

// serviceMemo is what the service facts compute once.
type serviceMemo struct{}

var serviceFacts = []Definition{}

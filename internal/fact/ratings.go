package fact

// ratingsMemo is what the pressure rating facts compute once.
type ratingsMemo struct{}

var ratingsFacts = []Definition{}

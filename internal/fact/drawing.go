package fact

// drawingMemo is what the facts about the drawing itself compute once.
type drawingMemo struct{}

var drawingFacts = []Definition{}

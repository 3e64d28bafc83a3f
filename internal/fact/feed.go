package fact

// feedMemo is what the feed gas and material facts compute once.
type feedMemo struct{}

var feedFacts = []Definition{}

package operate

// Round counts the states that were kept or taken since the last turn, and those of them that the round before had already.
func (k *Kept) Round() (states, taken int) {
	for key, st := range k.now {
		states++
		if k.before[key] == st {
			taken++
		}
	}
	return states, taken
}

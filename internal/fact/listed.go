package fact

// listed keeps a short list for each of many things, one list behind the other.
type listed struct{ start, items []int32 }

// listBy puts items[i] on the list of owners[i], in the order given; owners are below n.
func listBy(n int, owners, items []int32) listed {
	l := listed{make([]int32, n+2), make([]int32, len(items))}
	for _, o := range owners {
		l.start[o+2]++
	}
	for i := 2; i < len(l.start); i++ {
		l.start[i] += l.start[i-1]
	}
	// While it is filled, the entry behind a thing's own is where its next item goes.
	for i, o := range owners {
		l.items[l.start[o+1]] = items[i]
		l.start[o+1]++
	}
	l.start = l.start[:n+1]
	return l
}

// of is the list of a thing.
func (l *listed) of(i int32) []int32 { return l.items[l.start[i]:l.start[i+1]] }

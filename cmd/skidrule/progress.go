package main

import (
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
)

// progressDelay is how long a run may last before a bar is shown: short ones stay quiet.
const progressDelay = 500 * time.Millisecond

// progress shows on a terminal how many of many files are done. Its methods may be called by several goroutines at once,
// and on nil.
type progress struct {
	mu      sync.Mutex
	w       io.Writer
	columns int
	total   int
	done    int
	started time.Time
	shown   bool
}

// newProgress gives a bar for a stream; nil where the stream is no terminal or there is little to wait for.
func newProgress(w io.Writer, total int, quiet bool) *progress {
	columns, ok := terminalWidth(w)
	if quiet || !ok || total < 2 {
		return nil
	}
	return &progress{w: w, columns: columns, total: total, started: time.Now()}
}

// step tells that one more file is done.
func (p *progress) step() {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done++
	if time.Since(p.started) < progressDelay {
		return
	}
	p.shown = true
	fmt.Fprint(p.w, "\r"+bar(p.done, p.total, p.columns))
}

// finish takes the bar away.
func (p *progress) finish() {
	if p == nil || !p.shown {
		return
	}
	fmt.Fprint(p.w, "\r"+strings.Repeat(" ", p.columns-1)+"\r")
}

// bar draws a bar that leaves the last column free, so that no terminal breaks the line.
func bar(done, total, columns int) string {
	text := fmt.Sprintf("checking %d of %d ", done, total)
	room := min(columns-1-len(text)-2, 40)
	if room < 5 {
		return text[:max(0, min(len(text), columns-1))]
	}
	full := room * done / total
	return text + "[" + strings.Repeat("=", full) + strings.Repeat(" ", room-full) + "]"
}

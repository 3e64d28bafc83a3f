package service

import (
	"log/slog"
	"os"
	"slices"
	"sync"
	"time"
)

// lookEvery is how often files are looked at for changes.
const lookEvery = time.Second

// kept is what files hold. They are read again when they have changed; where that fails what they held before counts.
type kept[T any] struct {
	what  string // in the plural, for the log
	log   *slog.Logger
	read  func() (T, error)
	paths []string

	mu     sync.Mutex
	looked time.Time
	stamps []stamp
	value  T
}

// stamp tells one state of a file from another.
type stamp struct {
	modified time.Time
	size     int64
}

// keep reads files for the first time.
func keep[T any](what string, log *slog.Logger, read func() (T, error), paths ...string) (*kept[T], error) {
	k := &kept[T]{what: what, log: log, read: read, paths: paths, looked: time.Now()}
	k.stamps = k.look()
	var err error
	k.value, err = read()
	return k, err
}

// current gives what the files hold. It looks at them once in lookEvery at most.
func (k *kept[T]) current() T {
	k.mu.Lock()
	defer k.mu.Unlock()
	now := time.Now()
	if now.Sub(k.looked) < lookEvery {
		return k.value
	}
	k.looked = now
	stamps := k.look()
	if slices.Equal(stamps, k.stamps) {
		return k.value
	}
	k.stamps = stamps
	if value, err := k.read(); err != nil {
		k.log.Error("the "+k.what+" stay as they were", slog.String("error", err.Error()))
	} else {
		k.value = value
		k.log.Info(k.what + " read again")
	}
	return k.value
}

// look gives the stamps of the files; that of one that is not there is zero.
func (k *kept[T]) look() []stamp {
	stamps := make([]stamp, len(k.paths))
	for i, p := range k.paths {
		if info, err := os.Stat(p); err == nil {
			stamps[i] = stamp{info.ModTime(), info.Size()}
		}
	}
	return stamps
}

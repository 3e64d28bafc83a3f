package designfile

// Default limits; see [Options].
const (
	DefaultMaxBytes    = 16 << 20
	defaultMaxElements = 500_000
	defaultMaxScalar   = 64 << 10
	defaultMaxDepth    = 64
	defaultMaxProblems = 100
)

// Options bound what a file may demand and say how it begins. The zero value
// takes the default limits and expects no header.
type Options struct {
	// Header is the first key of the file, such as "skidrule"; empty for a file
	// without one.
	Header string
	// Version is the value that the first key must have.
	Version string
	// MaxBytes is the longest file, in bytes, at most 1 GiB.
	MaxBytes int
	// MaxElements is the highest number of keys, values and list items. It is
	// checked against the separators of the text before anything is parsed.
	MaxElements int
	// MaxScalar is the longest single value, in bytes.
	MaxScalar int
	// MaxDepth is the deepest nesting.
	MaxDepth int
	// MaxProblems is the highest number of problems that are listed; the others
	// are counted.
	MaxProblems int
	// Stop is asked now and then while a message is checked; once it says yes the check ends early, and its answer is of no use.
	// Nil never does.
	Stop func() bool
}

// withDefaults replaces limits that are not set.
func (o Options) withDefaults() Options {
	set := func(p *int, v int) {
		if *p <= 0 {
			*p = v
		}
	}
	set(&o.MaxBytes, DefaultMaxBytes)
	o.MaxBytes = min(o.MaxBytes, 1<<30)
	set(&o.MaxElements, defaultMaxElements)
	set(&o.MaxScalar, defaultMaxScalar)
	set(&o.MaxDepth, defaultMaxDepth)
	set(&o.MaxProblems, defaultMaxProblems)
	return o
}

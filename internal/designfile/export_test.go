package designfile

import "google.golang.org/protobuf/reflect/protoreflect"

const DefaultMaxProblems = defaultMaxProblems

// ReadLimited is Read with other limits.
var ReadLimited = readLimited

// Bounds returns the lowest and highest value that a field may state, in its
// wire unit.
func Bounds(fd protoreflect.FieldDescriptor) (low, high float64) {
	b := boundOf(newFieldSpec(fd))
	return b.low, b.high
}

// Extent is Find for the whole element: from its key to the end of its value.
func (p *Positions) Extent(path string) (Position, bool) {
	return p.find(path, func(e entry) span { return span{min(e.key.from, e.value.from), max(e.key.to, e.value.to)} })
}

// Has reports whether the file contains the element itself.
func (p *Positions) Has(path string) bool {
	_, ok := p.entries[path]
	return ok
}

package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
)

// Class is the type of a fact, without its dimension.
type Class uint8

// The classes.
const (
	ClassQuantity Class = iota // a Number with a dimension
	ClassCount                 // a Number without
	ClassTruth                 // a Truth
	ClassText                  // a Text
	ClassPath                  // a Path
)

// On says what things a fact is a fact of.
type On uint8

// The things.
const (
	OnComponent On = iota
	OnLine
	OnJoint
	OnDesign
	OnPort
)

// Definition is one fact of the rule vocabulary. Exactly one of the functions is set, the one of its class.
type Definition struct {
	Name      string
	Doc       string
	On        On
	Kinds     []plant.Kind // kinds it is a fact of, for OnComponent and OnPort; empty means every kind
	Class     Class
	Dimension quantity.Dimension // for ClassQuantity
	ByCase    bool               // the answer may differ between cases

	Number func(w *World, at At) Number
	Truth  func(w *World, at At) Truth
	Text   func(w *World, at At) Text
	Path   func(w *World, at At) Path
}

// ofWhole gives a fact of the design that is asked of a lot's world as one of the whole plant.
func (d Definition) ofWhole() Definition {
	switch {
	case d.Number != nil:
		number := d.Number
		d.Number = func(w *World, at At) Number {
			n := number(w.Whole(), at)
			n.Missing, n.Assumed = w.fromWhole(n.Missing), w.fromWhole(n.Assumed)
			return n
		}
	case d.Truth != nil:
		truth := d.Truth
		d.Truth = func(w *World, at At) Truth {
			t := truth(w.Whole(), at)
			t.Missing, t.Assumed = w.fromWhole(t.Missing), w.fromWhole(t.Assumed)
			return t
		}
	case d.Text != nil:
		text := d.Text
		d.Text = func(w *World, at At) Text {
			t := text(w.Whole(), at)
			t.Missing = w.fromWhole(t.Missing)
			return t
		}
	}
	return d
}

// Definitions lists every fact, grouped by topic. Adding a fact adds a line to its topic's list.
func Definitions() []Definition {
	return slices.Concat(
		backflowFacts, drainAirFacts, offGasFacts, ratingsFacts, sizingFacts, coolingBypassFacts, pumpInletFacts, feedFacts, moistureFacts, tripsFacts, gasTripFacts, serviceFacts, drawingFacts, consistencyFacts, solvedFacts, boundaryFacts,
	)
}

// quantityFact defines a fact of a quantity.
func quantityFact(name string, d quantity.Dimension, doc string, f func(*World, At) Number, kinds ...plant.Kind) Definition {
	return Definition{Name: name, Doc: doc, Class: ClassQuantity, Dimension: d, Number: f, Kinds: kinds}
}

// countFact defines a fact that counts.
func countFact(name, doc string, f func(*World, At) Number, kinds ...plant.Kind) Definition {
	return Definition{Name: name, Doc: doc, Class: ClassCount, Number: f, Kinds: kinds}
}

// truthFact defines a fact that holds or does not.
func truthFact(name, doc string, f func(*World, At) Truth, kinds ...plant.Kind) Definition {
	return Definition{Name: name, Doc: doc, Class: ClassTruth, Truth: f, Kinds: kinds}
}

// textFact defines a fact that is a word.
func textFact(name, doc string, f func(*World, At) Text, kinds ...plant.Kind) Definition {
	return Definition{Name: name, Doc: doc, Class: ClassText, Text: f, Kinds: kinds}
}

// pathFact defines a fact that is a way through the drawing.
func pathFact(name, doc string, f func(*World, At) Path, kinds ...plant.Kind) Definition {
	return Definition{Name: name, Doc: doc, Class: ClassPath, Path: f, Kinds: kinds}
}

// on moves a definition to another sort of thing.
func (d Definition) on(o On) Definition {
	d.On = o
	if o == OnDesign {
		return d.ofWhole()
	}
	return d
}

// byCase marks a definition whose answer may differ between cases.
func (d Definition) byCase() Definition {
	d.ByCase = true
	return d
}

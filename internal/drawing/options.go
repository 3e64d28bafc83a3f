package drawing

import skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"

// Theme chooses the colours of a drawing.
type Theme uint8

const (
	// ThemeAuto follows the reader's preference in SVG, and is light in PNG and in print.
	ThemeAuto Theme = iota
	// ThemeLight is dark ink on light paper.
	ThemeLight
	// ThemeDark is light ink on dark paper; print stays light in SVG.
	ThemeDark
)

// Options say what is drawn beside the design itself. The zero value draws the plain diagram.
type Options struct {
	// Date is written into the title block as it stands; the package never reads a clock.
	Date string
	// Theme of the drawing.
	Theme Theme
	// Elevations adds the stated elevations to the tags.
	Elevations bool
	// SheetCapacity is the greatest number of components on one sheet, at most 200; 0 takes 64.
	SheetCapacity int
	// IDPrefix begins every id of the SVG, so that several drawings can stand in one page.
	IDPrefix string
	// Data has components with their catalogue data applied, by tag, for a design that names parts. A component that is not in
	// it is drawn as the design and its own catalogue have it; one whose kind is not known there is a box with a question mark.
	Data map[string]*skidrulev1.Component
	// Overlay is drawn over the diagram.
	Overlay Overlay
}

// Overlay is what a check or a calculation adds to the diagram.
type Overlay struct {
	// Path is highlighted.
	Path Path
	// Markers number things; their texts stand in a list beside the diagram.
	Markers []Marker
	// Whole are texts about the design as a whole; they stand at the end of the list.
	Whole []string
	// Unlisted leaves out the list: the page around the drawing has its own.
	Unlisted bool
	// Values stand beside things.
	Values []Value
	// Case names the operating case that the values belong to.
	Case string
}

// Path is a way through the drawing.
type Path struct {
	// Components by tag.
	Components []string
	// Lines by tag.
	Lines []string
}

// Marker is a number on a component or line and its line in the list.
type Marker struct {
	// Number that is shown, from 1.
	Number int
	// Tag of a component or line.
	Tag string
	// Text of the list. Each line of it begins a new row.
	Text string
}

// Value is text beside a component or line, as a pressure or a flow.
type Value struct {
	// Tag of a component or line.
	Tag string
	// Rows of text.
	Rows []string
}

const (
	defaultCapacity = 64
	// Limits of what one call draws.
	maxComponents = 5000
	maxStops      = 20000
	maxRoute      = 5000
	maxMarkers    = 1000
	maxValues     = 10000
	maxCapacity   = 200
	maxHops       = 400  // on one sheet
	maxPosition   = 1000 // modules
	maxCells      = 4_000_000
	maxTextRunes  = 120
)

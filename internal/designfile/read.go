package designfile

import (
	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// File is a design with the places of its elements.
type File struct {
	Design *skidrulev1.Design
	// Positions leads from paths to places; it knows none for protobuf's text
	// and binary forms.
	Positions *Positions
	// Form is how the file was spelt.
	Form Form
}

// CatalogueFile is a catalogue with the places of its elements.
type CatalogueFile struct {
	Catalogue *skidrulev1.Catalogue
	Positions *Positions
}

// Read reads a design in any form with the default limits. The form follows
// from the extension of the name (.yaml, .yml, .json, .pb, .binpb, .txtpb), or
// from the content when the name has another one; JSON is in the file spelling
// when its first key is "skidrule". The error is a *[Problems].
func Read(name string, data []byte) (*File, error) { return readLimited(name, data, Options{}) }

// readLimited is Read with other limits.
func readLimited(name string, data []byte, o Options) (*File, error) {
	o.Header, o.Version = DesignHeader, Version
	f := &File{Design: &skidrulev1.Design{}}
	var err error
	f.Form, f.Positions, err = read(name, data, f.Design, o.withDefaults())
	if err != nil {
		return nil, err
	}
	return f, nil
}

// ReadCatalogue reads a catalogue in any form; see [Read]. Its first key is
// "skidrule_catalogue".
func ReadCatalogue(name string, data []byte) (*CatalogueFile, error) {
	o := Options{Header: CatalogueHeader, Version: Version}
	f := &CatalogueFile{Catalogue: &skidrulev1.Catalogue{}}
	var err error
	_, f.Positions, err = read(name, data, f.Catalogue, o.withDefaults())
	if err != nil {
		return nil, err
	}
	return f, nil
}

func read(name string, data []byte, msg proto.Message, o Options) (Form, *Positions, error) {
	if err := checkSize(name, data, o); err != nil {
		return 0, nil, err
	}
	form := formOf(name, data)
	var positions *Positions
	var err error
	switch form {
	case YAML, JSON:
		positions, err = Decode(data, name, msg, o)
	default:
		if positions, err = readWire(form, name, data, msg, o); err == nil {
			err = Check(msg, positions, o)
		}
	}
	return form, positions, err
}

// Package catalogue holds the demo catalogue: parts of invented makers, for demo designs and for trying things out.
// Reading a catalogue is designfile's, applying its parts to a design plant's, and choosing among them choose's.
package catalogue

import (
	_ "embed"
	"sync"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

//go:embed demo.yaml
var demoFile []byte

// Demo is the demo catalogue. Its data is invented. The message is shared and must not be changed.
var Demo = sync.OnceValue(func() *skidrulev1.Catalogue {
	f, err := designfile.ReadCatalogue("demo.yaml", demoFile)
	if err != nil {
		// The file is part of the program and a test reads it.
		panic(err)
	}
	return f.Catalogue
})

// Parts are the entries of the demo catalogue by their id. The map is shared and must not be changed.
var Parts = sync.OnceValue(func() map[string]*skidrulev1.CatalogueEntry {
	out := map[string]*skidrulev1.CatalogueEntry{}
	for _, e := range Demo().GetEntries() {
		out[e.GetId()] = e
	}
	return out
})

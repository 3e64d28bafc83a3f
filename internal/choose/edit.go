package choose

import (
	"fmt"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Fill writes the parts of a choice into a design file and leaves everything else of it as it is, comments and layout too. What the
// file states about a part that goes is taken out where the catalogues state it of the part that comes; earlier catalogues go
// before later ones, and the file's own before all. Files in another form than YAML with plain line feeds are refused.
func Fill(name string, data []byte, choice *skidrulev1.PartChoice, catalogues ...*skidrulev1.Catalogue) ([]byte, error) {
	for _, p := range choice.GetParts() {
		f, err := designfile.Read(name, data)
		if err != nil {
			return nil, err
		}
		var stated, entry *skidrulev1.Component
		for _, q := range f.Design.GetComponents() {
			if q.GetTag() == p.GetSlot() {
				stated = q
			}
		}
		for _, c := range append([]*skidrulev1.Catalogue{{Entries: f.Design.GetCatalogue()}}, catalogues...) {
			for _, e := range c.GetEntries() {
				if entry == nil && e.GetId() == p.GetPart() {
					entry = e.GetData()
				}
			}
		}
		if stated == nil || entry == nil {
			return nil, fmt.Errorf("%s: no component %s, or no catalogue has the part %s", name, p.GetSlot(), p.GetPart())
		}
		path := designfile.Child("components", p.GetSlot())
		changes := []func(*designfile.Editor) (designfile.TextEdit, bool){
			func(e *designfile.Editor) (designfile.TextEdit, bool) { return e.Set(path, "part", p.GetPart()) },
		}
		for _, gone := range givesWay(stated, entry) {
			changes = append(changes, func(e *designfile.Editor) (designfile.TextEdit, bool) { return e.RemoveEntry(path + "." + gone) })
		}
		for _, change := range changes {
			if data, err = changed(name, data, change); err != nil {
				return nil, err
			}
		}
	}
	return data, nil
}

// changed makes one edit of a file.
func changed(name string, data []byte, change func(*designfile.Editor) (designfile.TextEdit, bool)) ([]byte, error) {
	f, err := designfile.Read(name, data)
	if err != nil {
		return nil, err
	}
	editor, ok := designfile.NewEditor(f)
	if !ok {
		return nil, fmt.Errorf("%s: parts are written into YAML with plain line feeds alone; `skidrule convert` writes it", name)
	}
	edit, ok := change(editor)
	if !ok {
		return nil, fmt.Errorf("%s: the layout of the file leaves no place for the part", name)
	}
	return designfile.ApplyEdits(editor.Text(), []designfile.TextEdit{edit})
}

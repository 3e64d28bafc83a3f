package designfile_test

import (
	"errors"
	"testing"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
)

// FuzzRead demands that no file crashes the reader, that every error has a
// place inside the file, and that a design which is read can be written in all
// forms and read back unchanged.
func FuzzRead(f *testing.F) {
	data := hatchery(f)
	for _, form := range forms {
		seed, err := designfile.Convert("hatchery.yaml", data, form)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(uint8(0), seed)
	}
	for _, seed := range []string{
		"", "skidrule: v1\n", "skidrule: v1\r\nname: |\r\n  a\r\n\r\n  b\r\n", "skidrule: v1\nname: >2-\n   a\n  b\n", "skidrule: v1\nname: \"a\\\n  b\\u00e9\"\n",
		"skidrule: v1\n? name\n: x\n", "skidrule: v1\nbasis: &a {<<: *a}\n", "skidrule: v1\n---\n", "\ufeffskidrule: v1\n", "\xff\xfe", "{\"skidrule\": \"v1\", \"name\": \"\\ud83d\\ude00\"}",
		"{skidrule: v1, lines: {L: {route: [a.b, c.d>e, f.g], size: 1/2 in}}}", "skidrule: v1\nassumptions: [{path: basis.bromide, low: 1 mg/L}]\n",
		"{\"components\": [{\"tag\": \"A\", \"check_valve\": {}}]}", "name: \"x\" basis { altitude_m: 3 }", "\x0a\x01x\x2a\x03\x0a\x01A", "skidrule: v1\ncomponents: {\"a.b\": }\n",
	} {
		f.Add(uint8(0), []byte(seed))
	}
	names := []string{"-", "d.yaml", "d.json", "d.txtpb", "d.binpb"}
	f.Fuzz(func(t *testing.T, name uint8, data []byte) {
		file, err := designfile.ReadLimited(names[int(name)%len(names)], data, designfile.Options{MaxBytes: 1 << 16})
		if err != nil {
			var p *designfile.Problems
			if !errors.As(err, &p) || len(p.List) == 0 {
				t.Fatalf("no problems: %v", err)
			}
			for _, one := range p.List {
				if one.Message == "" || one.Line < 0 || one.Line > len(data)+1 || one.Line > 0 && one.Column < 1 ||
					one.EndLine < one.Line || one.EndLine == one.Line && one.EndColumn < one.Column {
					t.Fatalf("bad place: %+v", one)
				}
			}
			return
		}
		for _, path := range file.Positions.Paths() {
			if _, ok := file.Positions.Find(path); !ok {
				t.Fatalf("no place for %s", path)
			}
			for _, offset := range []int{0, 1, 7} {
				file.Positions.Within(path, offset)
			}
		}
		for _, form := range forms {
			written, err := designfile.WriteHeaded(file.Design, form, designfile.DesignHeader, designfile.Version, file.Positions)
			if err != nil {
				t.Fatalf("%s: %v", form, err)
			}
			if len(written) == 0 {
				continue
			}
			back, err := designfile.Read("x."+[]string{"", "yaml", "json", "json", "txtpb", "binpb"}[form], written)
			if err != nil {
				t.Fatalf("%s: %v\n%s", form, err, written)
			}
			if !proto.Equal(file.Design, back.Design) {
				t.Fatalf("%s: changed\n%s", form, written)
			}
		}
	})
}

// Package designfile reads and writes designs: bytes to and from the design
// message, with the line and column of every element kept beside it.
//
// A design has one schema and two spellings. The wire spelling is protobuf:
// binary, text and its JSON. The file spelling is for people, in YAML or JSON
// syntax, and begins with the key "skidrule" and the value "v1"; a catalogue
// of parts begins with "skidrule_catalogue: v1". No field has code of its own:
// the reader, the writer and the paths are driven by descriptors and the field
// option field_trait.
//
// # File spelling
//
//   - A key is the name of the field without the unit suffix of its dimension:
//     max_pressure_pa_gauge is spelt max_pressure. The value is a number with a
//     unit, such as "10 bar(g)"; a ratio may be a bare number.
//   - A repeated message with keyed_by is a mapping whose keys are that field.
//   - The members of a oneof are keys like others, but only one may be there;
//     one that states nothing is spelt with {} or with no value at all.
//   - An enum value is its name in lower case without the prefix of the enum.
//   - A repeated scalar is a list, or a single value.
//   - A stop of a route is TAG, TAG.port or TAG.enter>leave, and a nominal size
//     is a text such as "1/2 in"; both may be mappings as well.
//   - The ends of an assumption are quantities of the datum that it names.
//
// Tags and other keys of mappings consist of letters, digits, "-", "_" and "/",
// begin with a letter or digit and have at most 64 characters.
//
// # Paths
//
// Every element has a path: "components.CV-2.max_pressure",
// "components.CV-2.check_valve.opening_pressure", "lines.G-1.route[2]". Engine
// and wire know paths only; [Positions] leads from a path to the place in the
// file.
//
// # YAML
//
// Designs use a plain part of YAML: one document of mappings, lists and
// scalars. Anchors, aliases, merge keys and tags are refused, for a design is
// read by people who should find each datum where it stands. Whether a plain
// scalar is a text or a number follows from the field, so "NO" is a text.
//
// Whether what was read is a plant that can stand is not asked here: references and parts are plant's, findings are rulebook's.
package designfile

package skidrulev1

import "embed"

// Sources are the proto files that this package is generated from. Their comments are the documentation of every field.
//
//go:embed *.proto
var Sources embed.FS

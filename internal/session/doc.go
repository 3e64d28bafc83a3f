// Package session keeps a design while somebody draws it: edits by element path, made together or not at all, and what each
// changed of the report. It holds no engineering and knows no wire.
package session

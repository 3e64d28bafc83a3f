// Package openapi describes the HTTP door as an OpenAPI 3.1 document: its paths, its JSON and its errors, from the descriptors
// of the protos and their comments, so that nothing about them is written twice. It holds no engineering and calls nothing.
package openapi

package openapi

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/descriptorpb"

	"github.com/skidrule/skidrule/internal/designfile"
)

// Media types of the door.
const (
	mediaJSON   = "application/json"
	mediaStream = "application/connect+json"
)

// object is a JSON object; its keys are written in order, so that the same protos give the same bytes.
type object = map[string]any

// Document describes the named services, as skidrule.v1.CheckService. Version is that of the program that answers. The error names
// a service that the program does not have.
func Document(services []string, version string) ([]byte, error) {
	w := &writer{paths: object{}, schemas: object{}}
	var tags []any
	for _, name := range slices.Sorted(slices.Values(services)) {
		d, err := protoregistry.GlobalFiles.FindDescriptorByName(protoreflect.FullName(name))
		s, ok := d.(protoreflect.ServiceDescriptor)
		if err != nil || !ok {
			return nil, fmt.Errorf("there is no service %s", name)
		}
		tags = append(tags, object{"name": string(s.Name()), "description": designfile.Comment(s.FullName())})
		for i := range s.Methods().Len() {
			w.method(s.Methods().Get(i))
		}
	}
	text := object{"text/plain": object{"schema": object{"type": "string"}}}
	w.paths["/healthz"] = object{"get": object{
		"operationId": "health", "summary": "Whether the server answers calls.", "security": []any{object{}},
		"responses": object{"200": object{"description": "It does.", "content": text}, "503": object{"description": "It stops.", "content": text}},
	}}
	w.paths["/openapi.json"] = object{"get": object{
		"operationId": "description", "summary": "This document.", "security": []any{object{}},
		"responses": object{"200": object{"description": "The document.", "content": object{mediaJSON: object{"schema": object{"type": "object"}}}}},
	}}
	w.schemas["Error"] = errorSchema()
	document := object{
		"openapi": "3.1.0",
		"info": object{
			"title": "skidrule", "version": version,
			"description": "Checks of flow diagrams of ozone contact skids, as JSON over HTTP. A design with findings is an answer; errors are " +
				"requests that cannot be answered. Keys are spelt in camelCase; those of the protos are accepted in requests as well. A key that is " +
				"left out is not stated, and unknown keys are refused. Numbers are in SI units, named by the suffix of the key and by its description. " +
				"An answer aids a review and replaces no hazard study, no local code and no licensed engineer.",
		},
		// Relative to the place that the document comes from.
		"servers":  []any{object{"url": "/"}},
		"tags":     tags,
		"paths":    w.paths,
		"security": []any{object{}, object{"token": []any{}}},
		"components": object{
			"schemas":         w.schemas,
			"securitySchemes": object{"token": object{"type": "http", "scheme": "bearer", "description": "A token of the server's file, where the server wants one."}},
			"responses":       refusals(),
		},
	}
	data, err := json.MarshalIndent(document, "", "  ")
	return append(data, '\n'), err
}

// writer gathers paths and schemas.
type writer struct{ paths, schemas object }

// method describes one method: POST, and GET as well where it changes nothing. Calls with streams are told with their own media
// type, each message in an envelope.
func (w *writer) method(m protoreflect.MethodDescriptor) {
	path := "/" + string(m.Parent().FullName()) + "/" + string(m.Name())
	operation := func(id string) object {
		summary, rest, _ := strings.Cut(designfile.Comment(m.FullName()), ". ")
		o := object{"operationId": string(m.Parent().Name()) + "_" + id, "tags": []string{string(m.Parent().Name())}, "summary": strings.TrimSuffix(summary, ".") + "."}
		if rest != "" {
			o["description"] = rest
		}
		return o
	}
	post := operation(string(m.Name()))
	media := mediaJSON
	if m.IsStreamingClient() || m.IsStreamingServer() {
		media = mediaStream
		text, _ := post["description"].(string)
		post["description"] = strings.TrimSpace(text + " A call of several messages, which needs HTTP/2: each message, of request and answer, is five bytes and then " +
			"JSON by the schema; the first byte is 0, the other four are the length of the JSON, the most significant first. The last message of the answer begins with 2 and is an object with the key " +
			"`error` where the call failed.")
	}
	post["requestBody"] = object{"required": true, "content": object{media: object{"schema": w.message(m.Input())}}}
	responses := object{"200": object{"description": "The answer.", "content": object{media: object{"schema": w.message(m.Output())}}}}
	for code := range refusals() {
		responses[code] = object{"$ref": "#/components/responses/" + code}
	}
	post["responses"] = responses
	item := object{"post": post}
	options, _ := m.Options().(*descriptorpb.MethodOptions)
	if options.GetIdempotencyLevel() == descriptorpb.MethodOptions_NO_SIDE_EFFECTS && media == mediaJSON {
		get := operation(string(m.Name()) + "_get")
		get["responses"] = responses
		get["parameters"] = []any{
			object{"name": "encoding", "in": "query", "required": true, "description": "How the request is spelt.", "schema": object{"type": "string", "const": "json"}},
			object{"name": "message", "in": "query", "required": true, "description": "The request.", "content": object{mediaJSON: object{"schema": w.message(m.Input())}}},
			object{"name": "connect", "in": "query", "description": "Version of the protocol.", "schema": object{"type": "string", "const": "v1"}},
		}
		item["get"] = get
	}
	w.paths[path] = item
}

// refusals are the answers to calls that have none, by the status that each comes with.
func refusals() object {
	out := object{}
	for code, text := range map[string]string{
		"400": "The request cannot be answered: every field that is wrong is named in the details.",
		"401": "The server wants a valid bearer token.",
		"404": "There is no rule or calculation of that name, and no method of that path.",
		"429": "The request is larger than allowed: the details say what was given and what is allowed.",
		"499": "The caller went away.",
		"500": "The server went wrong; what it says stands in its log.",
		"503": "The server stops.",
		"504": "The answer took longer than allowed.",
	} {
		out[code] = object{"description": text, "content": object{mediaJSON: object{"schema": object{"$ref": "#/components/schemas/Error"}}}}
	}
	out["415"] = object{"description": "The media type is not one that the path takes."}
	return out
}

// errorSchema is the form of every error.
func errorSchema() object {
	return object{
		"type": "object", "title": "error", "description": "Why a call has no answer.", "required": []string{"code"},
		"properties": object{
			"code":    object{"type": "string", "description": "What sort of error it is, as invalid_argument.", "examples": []string{"invalid_argument"}},
			"message": object{"type": "string", "description": "What is wrong and what would be right."},
			"details": object{"type": "array", "description": "Messages of google.rpc: ErrorInfo with reason and limits, BadRequest with the fields that are wrong.",
				"items": object{"type": "object", "required": []string{"type", "value"}, "properties": object{
					"type":  object{"type": "string", "description": "Full name of the message, as google.rpc.BadRequest."},
					"value": object{"type": "string", "description": "The message, encoded and in base64 without padding."},
					"debug": object{"description": "The message as JSON, for readers."},
				}}},
		},
	}
}

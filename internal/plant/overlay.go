package plant

import (
	"reflect"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// overlay gives the data that holds for a component: what it states itself goes before what its entry states, field by
// field, inside the spec too; a stated table or list replaces the entry's as a whole. Neither argument is changed.
func overlay(stated, entry *skidrulev1.Component) *skidrulev1.Component {
	out := &skidrulev1.Component{
		Tag:                stated.Tag,
		Title:              first(stated.Title, entry.Title),
		Part:               stated.Part,
		MaxPressurePaGauge: firstPtr(stated.MaxPressurePaGauge, entry.MaxPressurePaGauge),
		PressureTable:      firstList(stated.PressureTable, entry.PressureTable),
		MinPressurePaGauge: firstPtr(stated.MinPressurePaGauge, entry.MinPressurePaGauge),
		MinTemperatureK:    firstPtr(stated.MinTemperatureK, entry.MinTemperatureK),
		MaxTemperatureK:    firstPtr(stated.MaxTemperatureK, entry.MaxTemperatureK),
		BodyMaterial:       first(stated.BodyMaterial, entry.BodyMaterial),
		SeatMaterial:       first(stated.SeatMaterial, entry.SeatMaterial),
		SealMaterial:       first(stated.SealMaterial, entry.SealMaterial),
		OxygenCleaned:      firstPtr(stated.OxygenCleaned, entry.OxygenCleaned),
		FailPosition:       first(stated.FailPosition, entry.FailPosition),
		NormalPosition:     first(stated.NormalPosition, entry.NormalPosition),
		Locked:             firstPtr(stated.Locked, entry.Locked),
		SharesCause:        firstList(stated.SharesCause, entry.SharesCause),
		PowerFeed:          first(stated.PowerFeed, entry.PowerFeed),
		AirFeed:            first(stated.AirFeed, entry.AirFeed),
		CommandedBy:        first(stated.CommandedBy, entry.CommandedBy),
		ServiceIntervalS:   firstPtr(stated.ServiceIntervalS, entry.ServiceIntervalS),
		WearingParts:       firstList(stated.WearingParts, entry.WearingParts),
		ElevationM:         firstPtr(stated.ElevationM, entry.ElevationM),
		Ports:              overlayPorts(stated.Ports, entry.Ports),
		Position:           stated.Position,
		Model:              first(stated.Model, entry.Model),
		PressureClass:      first(stated.PressureClass, entry.PressureClass),
		Train:              stated.Train,
		OutOfUse:           firstPtr(stated.OutOfUse, entry.OutOfUse),
	}
	if stated.MaxPressurePaGauge != nil && len(stated.PressureTable) == 0 {
		// A stated plain rating would otherwise lose to the entry's table, which goes before plain ratings.
		out.PressureTable = nil
	}
	switch {
	case stated.Spec == nil:
		out.Spec = entry.Spec
	case entry.Spec == nil || specIsEmpty(entry):
		out.Spec = stated.Spec
	case specIsEmpty(stated):
		out.Spec = entry.Spec
	default:
		out.Spec = overlaySpec(stated.Spec, entry.Spec)
	}
	return out
}

// specOf is what a component states of its kind, as the generated struct; not valid where a program left it nil.
func specOf(holder any) reflect.Value { return reflect.ValueOf(holder).Elem().Field(0).Elem() }

// overlaySpec lays what a component states of its kind over what its entry does, both of one kind and neither nil. The fields of the
// generated structs are zero where nothing is stated; reflection of messages would allocate each anew.
func overlaySpec[S any](stated, entry S) S {
	holder := reflect.New(reflect.TypeOf(stated).Elem())
	holder.Elem().Field(0).Set(reflect.New(specOf(stated).Type()))
	out, over, under := specOf(holder.Interface()), specOf(stated), specOf(entry)
	for i := range out.NumField() {
		switch field := out.Field(i); {
		case !field.CanSet(): // the message's own state
		case over.Field(i).IsZero():
			field.Set(under.Field(i))
		default:
			field.Set(over.Field(i))
		}
	}
	return holder.Interface().(S)
}

// specIsEmpty tells whether the component states nothing of its kind but the kind.
func specIsEmpty(c *skidrulev1.Component) bool {
	spec := specOf(c.Spec)
	for i := 0; spec.IsValid() && i < spec.NumField(); i++ {
		if field := spec.Field(i); field.CanSet() && !field.IsZero() {
			return false
		}
	}
	return true
}

// overlayPorts merges ports by name, field by field.
func overlayPorts(stated, entry []*skidrulev1.Port) []*skidrulev1.Port {
	if len(entry) == 0 {
		return stated
	}
	if len(stated) == 0 {
		return entry
	}
	out := append([]*skidrulev1.Port(nil), stated...)
	for _, e := range entry {
		found := false
		for i, s := range out {
			if s.GetName() != e.GetName() {
				continue
			}
			found = true
			out[i] = &skidrulev1.Port{
				Name: s.Name, Size: s.Size, Connection: first(s.Connection, e.Connection),
				ElevationM: firstPtr(s.ElevationM, e.ElevationM), Capped: firstPtr(s.Capped, e.Capped), Reason: first(s.Reason, e.Reason),
			}
			if s.Size == nil {
				out[i].Size = e.Size
			}
		}
		if !found {
			out = append(out, e)
		}
	}
	return out
}

func first[T comparable](stated, entry T) T {
	var zero T
	if stated != zero {
		return stated
	}
	return entry
}

func firstPtr[T any](stated, entry *T) *T {
	if stated != nil {
		return stated
	}
	return entry
}

func firstList[T any](stated, entry []T) []T {
	if len(stated) > 0 {
		return stated
	}
	return entry
}

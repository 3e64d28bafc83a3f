package plant

import (
	"reflect"
	"sort"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// PortInfo describes a port that a kind has.
type PortInfo struct {
	Name       string
	Phase      skidrulev1.Phase
	Direction  skidrulev1.FlowDirection
	MayStay    bool // need not be connected
	Repeatable bool // name_2, name_3 … may be used
}

// KindInfo describes a kind, read once from the schema's options.
type KindInfo struct {
	Name      string // as design files spell it, for example check_valve
	Title     string // as the trade says it
	Ports     []PortInfo
	Passages  [][2]int8 // pairs of indexes into Ports, in the direction of normal flow
	FreePorts bool
	DefaultIn int8 // port at which a route arrives when it names none; -1 where there is none
	DefaultGo int8 // port at which a route goes on when it names none; -1 where there is none
	// Field is the spec field of the component message.
	Field protoreflect.FieldDescriptor
}

var (
	kindInfos   [numKinds]KindInfo
	kindsByName = map[string]Kind{}
	kindsBySpec = map[reflect.Type]Kind{} // by the generated struct that holds the spec in its component
)

func init() {
	fields := (&skidrulev1.Component{}).ProtoReflect().Descriptor().Oneofs().ByName("spec").Fields()
	order := make([]protoreflect.FieldDescriptor, 0, fields.Len())
	for i := 0; i < fields.Len(); i++ {
		order = append(order, fields.Get(i))
	}
	sort.Slice(order, func(i, j int) bool { return order[i].Number() < order[j].Number() })
	kindInfos[KindNone] = KindInfo{Title: "component of unknown kind", DefaultIn: -1, DefaultGo: -1, FreePorts: true}
	for i, f := range order {
		k := Kind(i + 1)
		kindInfos[k] = readKind(f)
		kindsByName[string(f.Name())] = k
		var c skidrulev1.Component
		c.ProtoReflect().Mutable(f)
		kindsBySpec[reflect.TypeOf(c.Spec)] = k
	}
}

// readKind reads the trait of one kind.
func readKind(f protoreflect.FieldDescriptor) KindInfo {
	trait, _ := proto.GetExtension(f.Message().Options(), skidrulev1.E_KindTrait).(*skidrulev1.KindTrait)
	info := KindInfo{Name: string(f.Name()), Title: trait.GetTitle(), FreePorts: trait.GetFreePorts(), DefaultIn: -1, DefaultGo: -1, Field: f}
	for i, p := range trait.GetPorts() {
		info.Ports = append(info.Ports, PortInfo{p.GetName(), p.GetPhase(), p.GetDirection(), p.GetMayStayOpen(), p.GetRepeatable()})
		if info.DefaultIn < 0 && p.GetDirection() == skidrulev1.FlowDirection_FLOW_DIRECTION_IN {
			info.DefaultIn = int8(i)
		}
		if info.DefaultGo < 0 && p.GetDirection() == skidrulev1.FlowDirection_FLOW_DIRECTION_OUT {
			info.DefaultGo = int8(i)
		}
	}
	if info.DefaultIn < 0 && len(info.Ports) > 0 {
		// Fittings and instrument taps let flow either way: the first port is where a route arrives.
		info.DefaultIn = 0
	}
	if info.DefaultGo < 0 && len(info.Ports) > 0 {
		// A fitting's second port is where a route goes on; an instrument tap has only one, and the line runs past it.
		info.DefaultGo = int8(min(1, len(info.Ports)-1))
		if len(trait.GetPassages()) == 0 {
			info.DefaultGo = 0
		}
	}
	at := func(name string) int8 {
		for i, p := range info.Ports {
			if p.Name == name {
				return int8(i)
			}
		}
		panic("schema: passage of " + info.Name + " names unknown port " + name)
	}
	for _, p := range trait.GetPassages() {
		info.Passages = append(info.Passages, [2]int8{at(p.GetFrom()), at(p.GetTo())})
	}
	return info
}

// Info describes a kind.
func (k Kind) Info() *KindInfo { return &kindInfos[k] }

// String is the kind's name as design files spell it.
func (k Kind) String() string {
	if k == KindNone {
		return "unknown"
	}
	return kindInfos[k].Name
}

// KindByName finds a kind by its file spelling.
func KindByName(name string) (Kind, bool) {
	k, ok := kindsByName[name]
	return k, ok
}

// Kinds lists every kind in order of the schema.
func Kinds() []Kind {
	out := make([]Kind, 0, numKinds-1)
	for k := KindNone + 1; k < numKinds; k++ {
		out = append(out, k)
	}
	return out
}

// portIndex finds a port of the kind by name: the place of the port, or of the one that it repeats, and its ordinal, 1 for
// the kind's own name and 2 for outlet_2.
func (i *KindInfo) portIndex(name string) (base int, ordinal int16, ok bool) {
	for j := range i.Ports {
		if i.Ports[j].Name == name {
			return j, 1, true
		}
	}
	cut := strings.LastIndexByte(name, '_')
	if cut < 0 {
		return 0, 0, false
	}
	if ordinal = readOrdinal(name[cut+1:]); ordinal == 0 {
		return 0, 0, false
	}
	for j := range i.Ports {
		if i.Ports[j].Repeatable && i.Ports[j].Name == name[:cut] {
			return j, ordinal, true
		}
	}
	return 0, 0, false
}

// readOrdinal reads 2 to 9999 without leading zero; 0 for anything else.
func readOrdinal(s string) int16 {
	if len(s) == 0 || len(s) > 4 || s[0] == '0' || s == "1" {
		return 0
	}
	n := int16(0)
	for _, c := range s {
		if c < '0' || c > '9' {
			return 0
		}
		n = 10*n + int16(c-'0')
	}
	return n
}

// PortNames lists the port names of the kind, for messages.
func (i *KindInfo) PortNames() []string {
	out := make([]string, len(i.Ports))
	for j := range i.Ports {
		out[j] = i.Ports[j].Name
	}
	return out
}

package network

import (
	"fmt"
	"strings"
)

// BadInputError says that a datum cannot be used.
type BadInputError struct {
	// Where names the node, element or fluid; empty for function arguments.
	Where string
	// What is the datum, Value what was given.
	What  string
	Value float64
	// Want says what would be right.
	Want string
}

// Error names the element and what is wrong with it.
func (e *BadInputError) Error() string {
	where := ""
	if e.Where != "" {
		where = e.Where + ": "
	}
	return fmt.Sprintf("%s%s is %g, want %s", where, e.What, e.Value, e.Want)
}

// FloatingError says that a part of the network has no pressure boundary: its
// pressures could be anything.
type FloatingError struct {
	Phase Phase
	// Nodes are the indices of the part, ascending; Names their names.
	Nodes []int
	Names []string
}

// Error names the part that no fixed pressure holds.
func (e *FloatingError) Error() string {
	return fmt.Sprintf("the %s part with node %s has no pressure boundary: "+
		"fix the pressure of at least one of its nodes (a tank, a main, the atmosphere)", e.Phase, list(e.Names))
}

// ContradictionError says that fixed flows into a part that nothing connects to
// a pressure boundary do not add up to zero.
type ContradictionError struct {
	Phase Phase
	Nodes []int
	Names []string
	// Net is the sum of the fixed flows into the part, kg/s or mol/s.
	Net float64
}

// Error names what contradicts.
func (e *ContradictionError) Error() string {
	return fmt.Sprintf("fixed flows of %+.6g %s go into the shut-in %s part with node %s: "+
		"nothing can take or supply them; open an element to it or make the flows add up to zero",
		e.Net, e.Phase.unit(), e.Phase, list(e.Names))
}

// StrandedGasError says that no steady state was found because gas gathers
// where no liquid carries it on: an injector pushes gas into liquid that stands
// or goes round.
type StrandedGasError struct {
	// Node where the gas gathers (index), and its name.
	Node int
	Name string
	// Injector that adds the most of it (element index, or −1), and its name.
	Injector     int
	InjectorName string
}

// Error names where gas gathers and whence it comes.
func (e *StrandedGasError) Error() string {
	from := "an injector"
	if e.Injector >= 0 {
		from = "injector " + e.InjectorName
	}
	return fmt.Sprintf("gas from %s gathers at node %s, where no liquid carries it on, so that there is no steady state: "+
		"let liquid flow through, part the gas in a vessel, or keep the gas out with a check valve", from, e.Name)
}

// BrokenColumnError says that no steady state was found because liquid that
// carries gas is asked below its vapour pressure.
type BrokenColumnError struct {
	// Node with the lowest such pressure (index), and its name.
	Node int
	Name string
	// Pressure that the last state asked for there, Pa absolute; it may be
	// negative.
	Pressure float64
}

// Error names where the liquid breaks.
func (e *BrokenColumnError) Error() string {
	return fmt.Sprintf("the liquid at node %s, which carries gas, would have to stand at %.4g Pa absolute, below its vapour pressure, "+
		"so that there is no steady state: lower the place, widen the lines to it or ask it for less", e.Name, e.Pressure)
}

// NotConvergedError says that no solution was found and where it was worst.
type NotConvergedError struct {
	Iterations int
	// Element with the worst residual (index, or −1), its name and residual
	// in Pa.
	Element  int
	Name     string
	Residual float64
	// Node with the worst balance (index, or −1), its name and the flow
	// that is missing or too much, kg/s or mol/s.
	Node      int
	NodeName  string
	Imbalance float64
	// Switching counts elements that were still changing state.
	Switching int
}

// Error names the element that is furthest from its law.
func (e *NotConvergedError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "no steady state found in %d iterations", e.Iterations)
	if e.Element >= 0 {
		fmt.Fprintf(&b, "; worst element %s, %.3g Pa from its law", e.Name, e.Residual)
	}
	if e.Node >= 0 {
		fmt.Fprintf(&b, "; worst node %s, out of balance by %.3g", e.NodeName, e.Imbalance)
	}
	if e.Switching > 0 {
		fmt.Fprintf(&b, "; %d elements still opening and closing", e.Switching)
	}
	b.WriteString("; check for a source that pushes against closed or too small ways out")
	return b.String()
}

func (p Phase) unit() string {
	if p == Gas {
		return "mol/s"
	}
	return "kg/s"
}

func list(names []string) string {
	const most = 5
	if len(names) > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", len(names)-most)
	}
	return strings.Join(names, ", ")
}

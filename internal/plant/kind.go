package plant

import (
	"reflect"

	"google.golang.org/protobuf/reflect/protoreflect"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Kind is the kind of a component, in the order of the schema's spec fields.
type Kind uint8

// The kinds. KindNone is a component whose spec is neither stated nor given by its catalogue entry.
const (
	KindNone Kind = iota
	KindCompressor
	KindBlower
	KindGasReceiver
	KindGasFilter
	KindGasDryer
	KindOxygenConcentrator
	KindGasSupply
	KindPressureRegulator
	KindBackPressureValve
	KindMoistureMonitor
	KindGasHeater
	KindOzoneGenerator
	KindPowerSupply
	KindController
	KindActuatedValve
	KindThreeWayValve
	KindCheckValve
	KindLiquidTrap
	KindVenturiInjector
	KindPump
	KindStrainer
	KindLiquidFilter
	KindStaticMixer
	KindReactionVessel
	KindContactVessel
	KindDegassingVessel
	KindOpenTank
	KindHeatExchanger
	KindFloatVentValve
	KindKnockOutPot
	KindDemister
	KindOzoneDestruct
	KindWaterSeal
	KindFloatDrain
	KindDrainPoint
	KindAtmosphereVent
	KindReliefValve
	KindRuptureDisc
	KindVacuumBreaker
	KindHandValve
	KindRestrictionOrifice
	KindPressureGauge
	KindPressureSwitch
	KindFlowSwitch
	KindLevelSwitch
	KindTemperatureSwitch
	KindFlowMeter
	KindOzoneProbe
	KindOrpProbe
	KindGasAnalyser
	KindAmbientOzoneMonitor
	KindAmbientOxygenMonitor
	KindEmergencyStop
	KindEnclosureSwitch
	KindSamplePoint
	KindAdapter
	KindTee
	KindHeader
	KindJunction
	KindCap
	KindUnion
	KindBoundary
	KindOther
	numKinds
)

// KindOf tells the kind of a component message by its spec; KindNone where it has none.
func KindOf(c *skidrulev1.Component) Kind { return kindsBySpec[reflect.TypeOf(c.GetSpec())] }

// SpecOf is the data of a component's kind; nil where it states no kind.
func SpecOf(c *skidrulev1.Component) protoreflect.Message {
	k := KindOf(c)
	if k == KindNone {
		return nil
	}
	return c.ProtoReflect().Get(k.Info().Field).Message()
}

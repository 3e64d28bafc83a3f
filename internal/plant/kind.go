package plant

import (
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
func KindOf(c *skidrulev1.Component) Kind {
	switch c.GetSpec().(type) {
	case *skidrulev1.Component_Compressor:
		return KindCompressor
	case *skidrulev1.Component_Blower:
		return KindBlower
	case *skidrulev1.Component_GasReceiver:
		return KindGasReceiver
	case *skidrulev1.Component_GasFilter:
		return KindGasFilter
	case *skidrulev1.Component_GasDryer:
		return KindGasDryer
	case *skidrulev1.Component_OxygenConcentrator:
		return KindOxygenConcentrator
	case *skidrulev1.Component_GasSupply:
		return KindGasSupply
	case *skidrulev1.Component_PressureRegulator:
		return KindPressureRegulator
	case *skidrulev1.Component_BackPressureValve:
		return KindBackPressureValve
	case *skidrulev1.Component_MoistureMonitor:
		return KindMoistureMonitor
	case *skidrulev1.Component_GasHeater:
		return KindGasHeater
	case *skidrulev1.Component_OzoneGenerator:
		return KindOzoneGenerator
	case *skidrulev1.Component_PowerSupply:
		return KindPowerSupply
	case *skidrulev1.Component_Controller:
		return KindController
	case *skidrulev1.Component_ActuatedValve:
		return KindActuatedValve
	case *skidrulev1.Component_ThreeWayValve:
		return KindThreeWayValve
	case *skidrulev1.Component_CheckValve:
		return KindCheckValve
	case *skidrulev1.Component_LiquidTrap:
		return KindLiquidTrap
	case *skidrulev1.Component_VenturiInjector:
		return KindVenturiInjector
	case *skidrulev1.Component_Pump:
		return KindPump
	case *skidrulev1.Component_Strainer:
		return KindStrainer
	case *skidrulev1.Component_LiquidFilter:
		return KindLiquidFilter
	case *skidrulev1.Component_StaticMixer:
		return KindStaticMixer
	case *skidrulev1.Component_ReactionVessel:
		return KindReactionVessel
	case *skidrulev1.Component_ContactVessel:
		return KindContactVessel
	case *skidrulev1.Component_DegassingVessel:
		return KindDegassingVessel
	case *skidrulev1.Component_OpenTank:
		return KindOpenTank
	case *skidrulev1.Component_HeatExchanger:
		return KindHeatExchanger
	case *skidrulev1.Component_FloatVentValve:
		return KindFloatVentValve
	case *skidrulev1.Component_KnockOutPot:
		return KindKnockOutPot
	case *skidrulev1.Component_Demister:
		return KindDemister
	case *skidrulev1.Component_OzoneDestruct:
		return KindOzoneDestruct
	case *skidrulev1.Component_WaterSeal:
		return KindWaterSeal
	case *skidrulev1.Component_FloatDrain:
		return KindFloatDrain
	case *skidrulev1.Component_DrainPoint:
		return KindDrainPoint
	case *skidrulev1.Component_AtmosphereVent:
		return KindAtmosphereVent
	case *skidrulev1.Component_ReliefValve:
		return KindReliefValve
	case *skidrulev1.Component_RuptureDisc:
		return KindRuptureDisc
	case *skidrulev1.Component_VacuumBreaker:
		return KindVacuumBreaker
	case *skidrulev1.Component_HandValve:
		return KindHandValve
	case *skidrulev1.Component_RestrictionOrifice:
		return KindRestrictionOrifice
	case *skidrulev1.Component_PressureGauge:
		return KindPressureGauge
	case *skidrulev1.Component_PressureSwitch:
		return KindPressureSwitch
	case *skidrulev1.Component_FlowSwitch:
		return KindFlowSwitch
	case *skidrulev1.Component_LevelSwitch:
		return KindLevelSwitch
	case *skidrulev1.Component_TemperatureSwitch:
		return KindTemperatureSwitch
	case *skidrulev1.Component_FlowMeter:
		return KindFlowMeter
	case *skidrulev1.Component_OzoneProbe:
		return KindOzoneProbe
	case *skidrulev1.Component_OrpProbe:
		return KindOrpProbe
	case *skidrulev1.Component_GasAnalyser:
		return KindGasAnalyser
	case *skidrulev1.Component_AmbientOzoneMonitor:
		return KindAmbientOzoneMonitor
	case *skidrulev1.Component_AmbientOxygenMonitor:
		return KindAmbientOxygenMonitor
	case *skidrulev1.Component_EmergencyStop:
		return KindEmergencyStop
	case *skidrulev1.Component_EnclosureSwitch:
		return KindEnclosureSwitch
	case *skidrulev1.Component_SamplePoint:
		return KindSamplePoint
	case *skidrulev1.Component_Adapter:
		return KindAdapter
	case *skidrulev1.Component_Tee:
		return KindTee
	case *skidrulev1.Component_Header:
		return KindHeader
	case *skidrulev1.Component_Junction:
		return KindJunction
	case *skidrulev1.Component_Cap:
		return KindCap
	case *skidrulev1.Component_Union:
		return KindUnion
	case *skidrulev1.Component_Boundary:
		return KindBoundary
	case *skidrulev1.Component_Other:
		return KindOther
	}
	return KindNone
}

package plant

import (
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Actions are the cause-and-effect lines that the component states.
func (c *Component) Actions() []*skidrulev1.SignalAction {
	switch c.Kind {
	case KindController, KindMoistureMonitor, KindPressureSwitch, KindFlowSwitch, KindLevelSwitch,
		KindTemperatureSwitch, KindOzoneProbe, KindOrpProbe, KindGasAnalyser, KindAmbientOzoneMonitor,
		KindAmbientOxygenMonitor, KindEmergencyStop, KindEnclosureSwitch:
	default:
		// Most components state none, and need not be looked into.
		return nil
	}
	switch s := c.Data.GetSpec().(type) {
	case *skidrulev1.Component_Controller:
		return s.Controller.GetTrips()
	case *skidrulev1.Component_MoistureMonitor:
		return s.MoistureMonitor.GetActs()
	case *skidrulev1.Component_PressureSwitch:
		return s.PressureSwitch.GetActs()
	case *skidrulev1.Component_FlowSwitch:
		return s.FlowSwitch.GetActs()
	case *skidrulev1.Component_LevelSwitch:
		return s.LevelSwitch.GetActs()
	case *skidrulev1.Component_TemperatureSwitch:
		return s.TemperatureSwitch.GetActs()
	case *skidrulev1.Component_OzoneProbe:
		return s.OzoneProbe.GetActs()
	case *skidrulev1.Component_OrpProbe:
		return s.OrpProbe.GetActs()
	case *skidrulev1.Component_GasAnalyser:
		return s.GasAnalyser.GetActs()
	case *skidrulev1.Component_AmbientOzoneMonitor:
		return s.AmbientOzoneMonitor.GetActs()
	case *skidrulev1.Component_AmbientOxygenMonitor:
		return s.AmbientOxygenMonitor.GetActs()
	case *skidrulev1.Component_EmergencyStop:
		return s.EmergencyStop.GetActs()
	case *skidrulev1.Component_EnclosureSwitch:
		return s.EnclosureSwitch.GetActs()
	}
	return nil
}

package plant

import (
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Actions are the cause-and-effect lines that the component states. Most kinds state none, and need not be looked into.
func (c *Component) Actions() []*skidrulev1.SignalAction {
	switch c.Kind {
	case KindController:
		return c.Data.GetController().GetTrips()
	case KindMoistureMonitor:
		return c.Data.GetMoistureMonitor().GetActs()
	case KindPressureSwitch:
		return c.Data.GetPressureSwitch().GetActs()
	case KindFlowSwitch:
		return c.Data.GetFlowSwitch().GetActs()
	case KindLevelSwitch:
		return c.Data.GetLevelSwitch().GetActs()
	case KindTemperatureSwitch:
		return c.Data.GetTemperatureSwitch().GetActs()
	case KindOzoneProbe:
		return c.Data.GetOzoneProbe().GetActs()
	case KindOrpProbe:
		return c.Data.GetOrpProbe().GetActs()
	case KindGasAnalyser:
		return c.Data.GetGasAnalyser().GetActs()
	case KindAmbientOzoneMonitor:
		return c.Data.GetAmbientOzoneMonitor().GetActs()
	case KindAmbientOxygenMonitor:
		return c.Data.GetAmbientOxygenMonitor().GetActs()
	case KindEmergencyStop:
		return c.Data.GetEmergencyStop().GetActs()
	case KindEnclosureSwitch:
		return c.Data.GetEnclosureSwitch().GetActs()
	}
	return nil
}

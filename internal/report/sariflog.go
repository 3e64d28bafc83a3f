package report

// The parts of SARIF 2.1.0 (OASIS standard, 27 March 2020) that a report needs. Fields that are left out mean the default of
// the standard.

type sarifLog struct {
	Schema  string     `json:"$schema"`
	Version string     `json:"version"`
	Runs    []sarifRun `json:"runs"`
}

type sarifRun struct {
	Tool        sarifTool         `json:"tool"`
	Automation  *sarifAutomation  `json:"automationDetails,omitempty"`
	Invocations []sarifInvocation `json:"invocations"`
	ColumnKind  string            `json:"columnKind"`
	Artifacts   []sarifArtifact   `json:"artifacts,omitempty"`
	Results     []sarifResult     `json:"results"`
	Properties  sarifCoverage     `json:"properties"`
}

type sarifAutomation struct {
	ID string `json:"id"`
}

type sarifTool struct {
	Driver     sarifComponent   `json:"driver"`
	Extensions []sarifComponent `json:"extensions,omitempty"`
}

type sarifComponent struct {
	Name            string            `json:"name"`
	Version         string            `json:"version,omitempty"`
	SemanticVersion string            `json:"semanticVersion,omitempty"`
	Short           *sarifText        `json:"shortDescription,omitempty"`
	Rules           []sarifDescriptor `json:"rules,omitempty"`
	Notifications   []sarifDescriptor `json:"notifications,omitempty"`
}

type sarifDescriptor struct {
	ID         string               `json:"id"`
	Name       string               `json:"name,omitempty"`
	Short      *sarifText           `json:"shortDescription,omitempty"`
	Full       *sarifText           `json:"fullDescription,omitempty"`
	Help       *sarifText           `json:"help,omitempty"`
	Default    *sarifConfiguration  `json:"defaultConfiguration,omitempty"`
	Properties *sarifRuleProperties `json:"properties,omitempty"`
}

type sarifConfiguration struct {
	Level string `json:"level"`
}

type sarifRuleProperties struct {
	Tags      []string `json:"tags"`
	Precision string   `json:"precision"`
	Severity  string   `json:"problem.severity"`
}

// sarifText is a multiformatMessageString.
type sarifText struct {
	Text     string `json:"text"`
	Markdown string `json:"markdown,omitempty"`
}

type sarifMessage struct {
	Text string `json:"text"`
}

type sarifInvocation struct {
	Successful    bool                `json:"executionSuccessful"`
	ExitCode      int                 `json:"exitCode"`
	ExitText      string              `json:"exitCodeDescription"`
	Notifications []sarifNotification `json:"toolExecutionNotifications,omitempty"`
}

type sarifNotification struct {
	Descriptor *sarifReference `json:"descriptor,omitempty"`
	Rule       *sarifReference `json:"associatedRule,omitempty"`
	Level      string          `json:"level"`
	Message    sarifMessage    `json:"message"`
	Locations  []sarifLocation `json:"locations,omitempty"`
}

// sarifReference is a reportingDescriptorReference.
type sarifReference struct {
	ID        string              `json:"id,omitempty"`
	Index     *int                `json:"index,omitempty"`
	Component *sarifToolReference `json:"toolComponent,omitempty"`
}

type sarifToolReference struct {
	Name  string `json:"name,omitempty"`
	Index int    `json:"index"`
}

type sarifArtifact struct {
	Location sarifArtifactLocation `json:"location"`
	Roles    []string              `json:"roles"`
}

type sarifArtifactLocation struct {
	URI   string `json:"uri"`
	Index *int   `json:"index,omitempty"`
}

type sarifResult struct {
	RuleID       string              `json:"ruleId"`
	RuleIndex    *int                `json:"ruleIndex,omitempty"`
	Rule         *sarifReference     `json:"rule,omitempty"`
	Kind         string              `json:"kind"`
	Level        string              `json:"level"`
	Message      sarifMessage        `json:"message"`
	Locations    []sarifLocation     `json:"locations"`
	Fingerprints map[string]string   `json:"partialFingerprints"`
	Related      []sarifLocation     `json:"relatedLocations,omitempty"`
	Flows        []sarifFlow         `json:"codeFlows,omitempty"`
	Fixes        []sarifFix          `json:"fixes,omitempty"`
	Baseline     string              `json:"baselineState,omitempty"`
	Suppressions *[]sarifSuppression `json:"suppressions,omitempty"`
	Properties   *sarifEvidence      `json:"properties,omitempty"`
}

type sarifFix struct {
	Description sarifMessage          `json:"description"`
	Changes     []sarifArtifactChange `json:"artifactChanges"`
}

type sarifArtifactChange struct {
	Artifact     sarifArtifactLocation `json:"artifactLocation"`
	Replacements []sarifReplacement    `json:"replacements"`
}

type sarifReplacement struct {
	Deleted  sarifRegion  `json:"deletedRegion"`
	Inserted sarifContent `json:"insertedContent"`
}

// sarifContent is an artifactContent.
type sarifContent struct {
	Text string `json:"text"`
}

// sarifSuppression has no state: consumers disagree about the name of that property, and without it a suppression is taken as
// accepted.
type sarifSuppression struct {
	Kind          string `json:"kind"`
	Justification string `json:"justification"`
}

type sarifLocation struct {
	ID       *int           `json:"id,omitempty"`
	Physical sarifPhysical  `json:"physicalLocation"`
	Logical  []sarifLogical `json:"logicalLocations,omitempty"`
	Message  *sarifMessage  `json:"message,omitempty"`
}

type sarifPhysical struct {
	Artifact sarifArtifactLocation `json:"artifactLocation"`
	Region   sarifRegion           `json:"region"`
}

type sarifRegion struct {
	StartLine   int `json:"startLine"`
	StartColumn int `json:"startColumn"`
	EndLine     int `json:"endLine"`
	EndColumn   int `json:"endColumn"`
}

type sarifLogical struct {
	Name string `json:"name"`
	Path string `json:"fullyQualifiedName"`
	Kind string `json:"kind,omitempty"`
}

type sarifFlow struct {
	Threads []sarifThread `json:"threadFlows"`
}

type sarifThread struct {
	Steps []sarifStep `json:"locations"`
}

type sarifStep struct {
	Location   sarifLocation           `json:"location"`
	State      map[string]sarifMessage `json:"state,omitempty"`
	Importance string                  `json:"importance"`
}

type sarifEvidence struct {
	Hazard   string   `json:"hazard,omitempty"`
	Cases    []string `json:"cases,omitempty"`
	Evidence []number `json:"evidence,omitempty"`
	Missing  []string `json:"missing,omitempty"`
	Assumed  []string `json:"assumed,omitempty"`
	Mend     string   `json:"mend,omitempty"`
	Follows  string   `json:"consequenceOf,omitempty"`
}

type sarifCoverage struct {
	Designs  []sarifDesign `json:"designs"`
	Cautions []string      `json:"cautions,omitempty"`
}

type sarifDesign struct {
	File          string   `json:"file"`
	Verdict       string   `json:"verdict"`
	Met           int32    `json:"met"`
	Broken        int32    `json:"broken"`
	NotVerifiable int32    `json:"notVerifiable"`
	NotApplicable int32    `json:"notApplicable"`
	Failed        int32    `json:"failed"`
	State         []string `json:"dataToState,omitempty"`
	Unsolved      string   `json:"unsolvedBecause,omitempty"`
}

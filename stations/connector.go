package stations

import (
	"fmt"
	"strings"
	"unicode"

	"ampleway/data/fault"
)

// ConnectorType is the trade name of a plug, or, where the name is not known,
// the source's own token as it was found.
type ConnectorType string

// The connectors that have a trade name. Which standard defines each stands
// beside it.
const (
	J1772   ConnectorType = "J1772"   // SAE J1772, IEC 62196-2 type 1: AC, one phase
	Type2   ConnectorType = "Type 2"  // IEC 62196-2 type 2: AC, one or three phases
	Type3A  ConnectorType = "Type 3A" // IEC 62196-2 type 3-A: AC
	Type3C  ConnectorType = "Type 3C" // IEC 62196-2 type 3-C: AC
	GBTAC   ConnectorType = "GB/T AC" // GB/T 20234.2
	CCS1    ConnectorType = "CCS1"    // IEC 62196-3 configuration EE (combined type 1): DC
	CCS2    ConnectorType = "CCS2"    // IEC 62196-3 configuration FF (combined type 2): DC
	CHAdeMO ConnectorType = "CHAdeMO" // IEC 62196-3 configuration AA: DC
	ChaoJi  ConnectorType = "ChaoJi"  // DC
	GBTDC   ConnectorType = "GB/T DC" // GB/T 20234.3: DC
	J3400   ConnectorType = "J3400"   // SAE J3400: AC and DC on the same pins
	MCS     ConnectorType = "MCS"     // SAE J3271, the megawatt charging system: DC
)

// Current is what flows through a connector.
type Current uint8

// The kinds of current. CurrentUnknown also stands for a plug that carries
// either (J3400): the source must say which.
const (
	CurrentUnknown Current = iota
	CurrentAC
	CurrentDC
)

// Current returns what the plug carries by its standard. A type 2 plug counts
// as AC: its DC use is not in the standard tables of open data.
func (t ConnectorType) Current() Current {
	switch t {
	case CCS1, CCS2, CHAdeMO, ChaoJi, GBTDC, MCS, pantographDown, pantographUp:
		return CurrentDC
	case J3400:
		return CurrentUnknown
	}
	if _, known := names[t]; known {
		return CurrentAC
	}
	return CurrentUnknown
}

// Known reports whether the type is a trade name of this package rather than
// a token kept as it was found.
func (t ConnectorType) Known() bool {
	_, ok := names[t]
	return ok
}

const (
	pantographDown ConnectorType = "Pantograph down"
	pantographUp   ConnectorType = "Pantograph up"
)

// synonyms lists, for each trade name, the tokens of open standards and
// registers that mean it: OCPI 2.2.1 and 2.3.0 ConnectorType, OpenStreetMap
// socket keys, the US alternative fuel table, and the German and French
// registers. Case, spaces and punctuation do not count.
var synonyms = map[ConnectorType][]string{
	J1772:          {"SAE J1772", "Type 1", "type1_cable", "IEC_62196_T1", "IEC 62196-2 type 1", "Typ 1", "AC Steckdose Typ 1", "AC Kupplung Typ 1"},
	Type2:          {"type2_cable", "IEC_62196_T2", "IEC 62196-2 type 2", "Typ 2", "AC Steckdose Typ 2", "AC Kupplung Typ 2", "prise_type_2"},
	Type3A:         {"IEC_62196_T3A"},
	Type3C:         {"IEC_62196_T3C", "Type 3", "type3"},
	GBTAC:          {"GBT_AC", "gb_ac", "gbt_ac"},
	CCS1:           {"IEC_62196_T1_COMBO", "type1_combo", "J1772COMBO", "SAE Combo", "CCS type 1", "Combo 1", "Combo T1"},
	CCS2:           {"IEC_62196_T2_COMBO", "type2_combo", "CCS type 2", "Combo 2", "Combo T2", "DC Kupplung Combo", "prise_type_combo_ccs"},
	CHAdeMO:        {"DC CHAdeMO", "prise_type_chademo"},
	ChaoJi:         nil,
	GBTDC:          {"GBT_DC", "gb_dc"},
	J3400:          {"SAE_J3400", "SAE J3400", "nacs"},
	MCS:            {"Megawatt Charging System"},
	pantographDown: {"PANTOGRAPH_TOP_DOWN"},
	pantographUp:   {"PANTOGRAPH_BOTTOM_UP"},
	"Domestic A":   {"DOMESTIC_A"}, "Domestic B": {"DOMESTIC_B", "NEMA515", "NEMA 5-15", "nema_5_15"},
	"Domestic C": {"DOMESTIC_C"}, "Domestic D": {"DOMESTIC_D"},
	"Domestic E": {"DOMESTIC_E", "typee", "prise_type_ef"}, "Domestic F": {"DOMESTIC_F", "schuko", "AC Schuko", "Schukosteckdose"},
	"Domestic G": {"DOMESTIC_G", "bs1363"}, "Domestic H": {"DOMESTIC_H"}, "Domestic I": {"DOMESTIC_I", "as3112"},
	"Domestic J": {"DOMESTIC_J", "sev1011_t13"}, "Domestic K": {"DOMESTIC_K"}, "Domestic L": {"DOMESTIC_L"},
	"Domestic M": {"DOMESTIC_M"}, "Domestic N": {"DOMESTIC_N"}, "Domestic O": {"DOMESTIC_O"},
	"IEC 60309 single 16": {"IEC_60309_2_single_16", "cee_blue"},
	"IEC 60309 three 16":  {"IEC_60309_2_three_16", "cee_red_16a"},
	"IEC 60309 three 32":  {"IEC_60309_2_three_32", "cee_red_32a"},
	"IEC 60309 three 64":  {"IEC_60309_2_three_64", "cee_red_63a"},
	"IEC 60309 three 125": {"cee_red_125a"},
	"NEMA 5-20":           {"NEMA_5_20", "NEMA520"},
	"NEMA 6-30":           {"NEMA_6_30"},
	"NEMA 6-50":           {"NEMA_6_50"},
	"NEMA 10-30":          {"NEMA_10_30"},
	"NEMA 10-50":          {"NEMA_10_50"},
	"NEMA 14-30":          {"NEMA_14_30", "NEMA1430"},
	"NEMA 14-50":          {"NEMA_14_50", "NEMA1450"},
	"NEMA TT-30":          {"nema_tt_30"},
}

var names, byFold = foldSynonyms()

func foldSynonyms() (map[ConnectorType]struct{}, map[string]ConnectorType) {
	names := make(map[ConnectorType]struct{}, len(synonyms))
	folded := make(map[string]ConnectorType)
	for name, words := range synonyms {
		names[name] = struct{}{}
		folded[fold(string(name))] = name
		for _, w := range words {
			folded[fold(w)] = name
		}
	}
	return names, folded
}

// fold keeps letters and digits alone, in lower case.
func fold(token string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, token)
}

// ConnectorFor returns the trade name of a connector token and true, or the
// token itself, trimmed, and false where it is not known. Nothing is guessed:
// "CCS" alone does not say which of two plugs it is and stays as it is.
func ConnectorFor(token string) (ConnectorType, bool) {
	if name, ok := byFold[fold(token)]; ok {
		return name, true
	}
	return ConnectorType(strings.TrimSpace(token)), false
}

// Sanitized is a token of a file as it can be printed on a terminal and typed
// again as an alias: letters, digits, spaces and the punctuation of names, no
// longer than mostTokenRunes.
func (t ConnectorType) Sanitized() string {
	const mostTokenRunes = 60
	plain := strings.Map(func(r rune) rune {
		switch {
		case unicode.IsLetter(r), unicode.IsDigit(r), strings.ContainsRune("-_/.+ ", r):
			return r
		case unicode.IsSpace(r):
			return ' '
		}
		return -1
	}, string(t))
	if runes := []rune(plain); len(runes) > mostTokenRunes {
		return string(runes[:mostTokenRunes]) + "…"
	}
	return plain
}

// AliasText says how many plugs go by a name that is not known here and which
// alias would read them. "CCS" in a name leaves two plugs to choose from.
func (t ConnectorType) AliasText(plugs int) string {
	name := t.Sanitized()
	alias := func(means string) string {
		if text := name + "=" + means; !strings.Contains(text, " ") {
			return "--alias " + text
		}
		return `--alias "` + name + "=" + means + `"`
	}
	if folded := fold(name); strings.Contains(folded, "ccs") || strings.Contains(folded, "combo") {
		return fmt.Sprintf("plugs \"%s\" %d: %s or %s, whichever they are", name, plugs, alias("ccs1"), alias("ccs2"))
	}
	return fmt.Sprintf("plugs \"%s\" %d: %s, if that is what they are", name, plugs, alias("j3400"))
}

// Aliases gives a user's meaning to connector tokens. It comes before the
// built-in synonyms. The nil map is ready to read.
type Aliases map[string]ConnectorType

// ParseAliases reads lines of the form "TOKEN = CONNECTOR", for example
// "XPLUG = j3400". The right side must be a connector this package knows.
func ParseAliases(lines []string) (Aliases, error) {
	aliases := make(Aliases, len(lines))
	for _, line := range lines {
		token, name, ok := strings.Cut(line, "=")
		if !ok || fold(token) == "" {
			return nil, &fault.Input{Field: "alias", Found: line, Expected: `"TOKEN = CONNECTOR"`}
		}
		connector, known := ConnectorFor(name)
		if !known {
			return nil, &fault.Input{Field: "alias", Found: line, Expected: "a connector such as j3400, ccs2, chademo after the equals sign"}
		}
		aliases[fold(token)] = connector
	}
	return aliases, nil
}

// ConnectorFor is the package's ConnectorFor with the user's words first.
func (a Aliases) ConnectorFor(token string) (ConnectorType, bool) {
	if name, ok := a[fold(token)]; ok {
		return name, true
	}
	return ConnectorFor(token)
}

// Apply renames the connectors of a site that the aliases give a meaning to.
// A renamed connector that can only carry direct current becomes DC. The
// stalls are copied before they are changed.
func (a Aliases) Apply(s *Site) {
	if len(a) == 0 {
		return
	}
	stalls := make([]Stall, len(s.Stalls))
	for i, stall := range s.Stalls {
		connectors := make([]Connector, len(stall.Connectors))
		for j, c := range stall.Connectors {
			if name, ok := a[fold(string(c.Type))]; ok {
				c.Type = name
				c.DC = c.DC || name.Current() == CurrentDC
			}
			connectors[j] = c
		}
		stall.Connectors = connectors
		stalls[i] = stall
	}
	s.Stalls = stalls
}

package main

// price as the station file writes it. The amounts are invented; euros are
// used because a price without a known currency reads badly.
type price struct {
	Currency   string  `json:"currency"`
	SessionFee float64 `json:"session_fee,omitempty"`
	rates
	Periods          []period `json:"periods,omitempty"`
	IdleAfterMinutes float64  `json:"idle_after_minutes,omitempty"`
}

type rates struct {
	PerKWh        float64 `json:"per_kwh,omitempty"`
	PerMinute     float64 `json:"per_minute,omitempty"`
	Bands         []band  `json:"bands,omitempty"`
	IdlePerMinute float64 `json:"idle_per_minute,omitempty"`
}

type band struct {
	AboveKW   float64 `json:"above_kw"`
	PerMinute float64 `json:"per_minute"`
}

type period struct {
	Days string `json:"days,omitempty"`
	From string `json:"from"`
	To   string `json:"to"`
	rates
}

var prices = map[string]*price{
	"":            nil,
	"road board":  {Currency: "EUR", rates: rates{PerKWh: 0.52}},
	"strand":      {Currency: "EUR", rates: rates{PerKWh: 0.56}},
	"cooperative": {Currency: "EUR", rates: rates{PerKWh: 0.39}},
	"roadhouse":   {Currency: "EUR", SessionFee: 1.5, rates: rates{PerKWh: 0.45}},
	"by the hour of day": {Currency: "EUR", rates: rates{PerKWh: 0.58}, Periods: []period{
		{From: "22:00", To: "06:00", rates: rates{PerKWh: 0.34}},
		{Days: "Mo-Fr", From: "11:00", To: "15:00", rates: rates{PerKWh: 0.42}},
	}},
	"by the minute": {Currency: "EUR", rates: rates{Bands: []band{{AboveKW: 0, PerMinute: 0.28}, {AboveKW: 60, PerMinute: 0.62}}}},
	"idle fee":      {Currency: "EUR", rates: rates{PerKWh: 0.46, IdlePerMinute: 0.2}, IdleAfterMinutes: 10},
	"town ac":       {Currency: "EUR", rates: rates{PerKWh: 0.34, IdlePerMinute: 0.05}, IdleAfterMinutes: 240},
}

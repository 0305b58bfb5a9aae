package agronomy

import "math"

// dim is a dimension: exponents of the base kinds, in halves (so that a square root of a temperature has one).
type dim [9]int8

const (
	dLength = iota
	dMass
	dTime
	dTemperature
	dAngle
	dAmount
	dCount
	dMoney
	dPH
)

type side int8

const (
	either side = iota
	metric
	customary
)

// unit is what a unit's text means: value × factor + offset is the value in base units.
type unit struct {
	dim            dim
	factor, offset float64
	absolute       bool   // a temperature as a thermometer shows it, not a difference
	of             string // what is counted: N, P2O5, PLS, ai …
	side           side
}

// Base units: metre, kilogram, second, kelvin, radian, mole (of charge too), one, dollar, pH.
var (
	length  = dim{dLength: 2}
	area    = dim{dLength: 4}
	volume  = dim{dLength: 6}
	mass    = dim{dMass: 2}
	span    = dim{dTime: 2}
	warmth  = dim{dTemperature: 2}
	angle   = dim{dAngle: 2}
	amount  = dim{dAmount: 2}
	count   = dim{dCount: 2}
	money   = dim{dMoney: 2}
	acidity = dim{dPH: 2}
	none    = dim{}
	speed   = dim{dLength: 2, dTime: -2}
	flow    = dim{dLength: 6, dTime: -2}
	force   = dim{dLength: -2, dMass: 2, dTime: -4} // pressure
	energy  = dim{dLength: 4, dMass: 2, dTime: -4}
	power   = dim{dLength: 4, dMass: 2, dTime: -6}
	radiant = dim{dMass: 2, dTime: -4} // energy on an area
)

const (
	inch   = 0.0254
	foot   = 0.3048
	gallon = 231 * inch * inch * inch
	imp    = 0.00454609 // imperial gallon, m³
	pound  = 0.45359237
	day    = 86400.0
)

// atoms is every single unit that can be written, with the exact factor where the definition is exact.
var atoms = map[string]unit{
	"mm": m(length, 1e-3), "cm": m(length, 1e-2), "dm": m(length, 0.1), "m": m(length, 1), "km": m(length, 1000), "um": m(length, 1e-6),
	"in": c(length, inch), "ft": c(length, foot), "yd": c(length, 3*foot), "mi": c(length, 5280*foot),
	"acre": c(area, 43560*foot*foot), "ha": m(area, 1e4), "are": m(area, 100),
	"mL": m(volume, 1e-6), "L": m(volume, 1e-3), "dL": m(volume, 1e-4), "cc": m(volume, 1e-6),
	"gal": c(volume, gallon), "qt": c(volume, gallon/4), "pt": c(volume, gallon/8), "cup": c(volume, gallon/16), "fl oz": c(volume, gallon/128),
	"tbsp": c(volume, gallon/256), "tsp": c(volume, gallon/768), "imp gal": c(volume, imp), "imp qt": c(volume, imp/4), "imp pt": c(volume, imp/8),
	"imp fl oz": c(volume, imp/160), "acre-in": c(volume, 43560*foot*foot*inch), "acre-ft": c(volume, 43560*foot*foot*foot), "bu": c(volume, 2150.42*inch*inch*inch),
	"ug": m(mass, 1e-9), "mg": m(mass, 1e-6), "g": m(mass, 1e-3), "kg": m(mass, 1), "Mg": m(mass, 1000), "tonne": m(mass, 1000),
	"oz": c(mass, pound/16), "lb": c(mass, pound), "cwt": c(mass, 100*pound), "ton": c(mass, 2000*pound), "long ton": c(mass, 2240*pound),
	"s": e(span, 1), "min": e(span, 60), "h": e(span, 3600), "day": e(span, day), "week": e(span, 7*day), "month": e(span, 365.0/12*day), "yr": e(span, 365*day),
	"K": m(warmth, 1), "C": m(warmth, 1), "F": c(warmth, 1/1.8),
	"rad": e(angle, 1), "deg": e(angle, math.Pi/180), "arcmin": e(angle, math.Pi/10800), "arcsec": e(angle, math.Pi/648000),
	"deg N": e(angle, math.Pi/180), "deg E": e(angle, math.Pi/180), "deg S": e(angle, -math.Pi/180), "deg W": e(angle, -math.Pi/180),
	"mol": e(amount, 1), "mmol": e(amount, 1e-3), "umol": e(amount, 1e-6), "eq": e(amount, 1), "meq": e(amount, 1e-3), "cmol": e(amount, 0.01),
	"count": e(count, 1), "USD": e(money, 1), "cent": e(money, 0.01), "pH": e(acidity, 1),
	"fraction": e(none, 1), "ratio": e(none, 1), "%": e(none, 0.01), "ppm": e(none, 1e-6), "ppb": e(none, 1e-9), "1": e(none, 1),
	"gpm": c(flow, gallon/60), "gph": c(flow, gallon/3600), "Lpm": m(flow, 1e-3/60), "cfs": c(flow, foot*foot*foot),
	"mph": c(speed, 5280*foot/3600), "knot": e(speed, 1852.0/3600),
	"Pa": m(force, 1), "hPa": m(force, 100), "kPa": m(force, 1000), "MPa": m(force, 1e6), "bar": m(force, 1e5), "mbar": m(force, 100), "atm": e(force, 101325),
	"inHg": c(force, 3386.389), "mmHg": m(force, 133.322387415), "psi": c(force, pound*9.80665/(inch*inch)),
	"J": m(energy, 1), "kJ": m(energy, 1e3), "MJ": m(energy, 1e6), "cal": m(energy, 4.1868), "kcal": m(energy, 4186.8), "Wh": m(energy, 3600), "kWh": m(energy, 3.6e6),
	"W": m(power, 1), "kW": m(power, 1000), "langley": m(radiant, 41868),
}

func m(d dim, f float64) unit { return unit{dim: d, factor: f, side: metric} }
func c(d dim, f float64) unit { return unit{dim: d, factor: f, side: customary} }
func e(d dim, f float64) unit { return unit{dim: d, factor: f} }

// others are further ways to write an atom, in small letters.
var others = map[string]string{
	"millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm", "centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
	"metre": "m", "metres": "m", "meter": "m", "meters": "m", "kilometre": "km", "kilometer": "km", "inch": "in", "inches": "in", "foot": "ft", "feet": "ft",
	"yard": "yd", "yards": "yd", "mile": "mi", "miles": "mi", "acres": "acre", "ac": "acre", "hectare": "ha", "hectares": "ha", "ml": "mL", "l": "L", "cl": "dL",
	"liter": "L", "liters": "L", "litre": "L", "litres": "L", "gallon": "gal", "gallons": "gal", "quart": "qt", "quarts": "qt", "pint": "pt", "pints": "pt",
	"us gal": "gal", "us gallon": "gal", "us gallons": "gal", "us qt": "qt", "us pt": "pt", "us fl oz": "fl oz", "floz": "fl oz", "fl. oz": "fl oz", "fluid ounce": "fl oz",
	"fluid ounces": "fl oz", "fl ozs": "fl oz", "imperial gal": "imp gal", "imperial gallon": "imp gal", "uk gal": "imp gal", "acre-inch": "acre-in", "acre-inches": "acre-in",
	"acre-foot": "acre-ft", "acre-feet": "acre-ft", "gram": "g", "grams": "g", "kilogram": "kg", "kilograms": "kg", "t": "tonne", "tonnes": "tonne", "metric ton": "tonne",
	"metric tons": "tonne", "lbs": "lb", "pound": "lb", "pounds": "lb", "ounce": "oz", "ounces": "oz", "oz wt": "oz", "tons": "ton", "short ton": "ton", "us ton": "ton",
	"sec": "s", "second": "s", "seconds": "s", "mins": "min", "minute": "min", "minutes": "min", "hr": "h", "hrs": "h", "hour": "h", "hours": "h", "d": "day", "days": "day",
	"weeks": "week", "wk": "week", "months": "month", "mo": "month", "y": "yr", "year": "yr", "years": "yr", "degc": "C", "celsius": "C", "deg c": "C", "degf": "F",
	"fahrenheit": "F", "deg f": "F", "kelvin": "K", "degree": "deg", "degrees": "deg", "radian": "rad", "radians": "rad", "µmol": "umol", "equivalent": "eq",
	"cmolc": "cmol", "molc": "mol", "mmolc": "mmol", "counts": "count", "can": "count", "cans": "count", "point": "count", "points": "count", "seed": "count", "seeds": "count",
	"core": "count", "cores": "count", "bag": "count", "bags": "count", "plants": "count", "plant": "count", "hits": "count", "pins": "count", "grubs": "count", "samples": "count",
	"usd": "USD", "$": "USD", "dollar": "USD", "dollars": "USD", "cents": "cent", "ph": "pH", "percent": "%", "pct": "%", "t value": "ratio", "number": "ratio",
	"index": "ratio", "gpm": "gpm", "lpm": "Lpm", "kt": "knot", "kn": "knot", "knots": "knot", "kmh": "km/h", "kph": "km/h", "mb": "mbar", "millibar": "mbar", "in hg": "inHg",
	"inhg": "inHg", "mm hg": "mmHg", "mmhg": "mmHg", "hpa": "hPa", "kpa": "kPa", "ly": "langley", "langleys": "langley", "mps": "m/s", "watt": "W", "watts": "W",
	"deg north": "deg N", "deg east": "deg E", "deg south": "deg S", "deg west": "deg W",
}

// substances may follow a unit of mass, volume or percent: what is weighed.
var substances = map[string]string{
	"N": "N", "P": "P", "K": "K", "P2O5": "P2O5", "K2O": "K2O", "PLS": "pure live seed", "bulk": "bulk seed", "ai": "active ingredient", "a.i.": "active ingredient",
	"ae": "acid equivalent", "a.e.": "acid equivalent", "CCE": "calcium carbonate equivalent", "CaCO3": "calcium carbonate equivalent", "S": "S", "Fe": "Fe", "Ca": "Ca",
	"nitrogen": "N",
}

var dimNames = map[dim]string{
	length: "length", area: "area", volume: "volume", mass: "mass", span: "time", warmth: "temperature", angle: "angle", amount: "amount of substance", count: "number of things",
	money: "money", acidity: "pH", none: "plain number", speed: "speed or rate", flow: "flow", force: "pressure", energy: "energy", power: "power", radiant: "energy on an area",
	{dMass: 2, dLength: -4}: "mass on an area", {dMass: 2, dTime: -6}: "radiation", {dTemperature: 2, dTime: 2}: "degree days",
	{dMass: 2, dLength: -6}: "mass in a volume", {dCount: 2, dLength: -4}: "number on an area", {dCount: 2, dMass: -2}: "number in a mass",
	{dMoney: 2, dMass: -2}: "price by mass", {dMoney: 2, dLength: -4}: "price by area", {dMoney: 2, dCount: -2}: "price by piece",
	{dAmount: 2, dMass: -2}: "charge in a mass", {dAmount: 2, dLength: -6}: "amount in a volume",
}

// String names a dimension for a sentence.
func (d dim) String() string {
	if name, ok := dimNames[d]; ok {
		return name
	}
	return "another kind of measure"
}

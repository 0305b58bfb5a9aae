package evapo

import "swardbook/diagnose/agronomy"

var (
	inElevation = agronomy.Input{Name: "elevation", Also: []string{"altitude", "z"}, Unit: "m", Range: agronomy.Between(-450, 9000), Says: "height above the sea"}
	inPressure  = agronomy.Input{Name: "pressure", Unit: "kPa", Range: agronomy.Between(30, 115), Says: "air pressure at the station, not reduced to the sea"}
	inTmax      = agronomy.Input{Name: "tmax", Unit: "C", Range: agronomy.Between(-60, 60), Says: "highest temperature of the day"}
	inTmin      = agronomy.Input{Name: "tmin", Unit: "C", Range: agronomy.Between(-60, 60), Says: "lowest temperature of the day"}
	inTmean     = agronomy.Input{Name: "tmean", Also: []string{"t_mean"}, Unit: "C", Range: agronomy.Between(-60, 60), Says: "mean temperature, when not the mean of the extremes"}
	inT         = agronomy.Input{Name: "temperature", Also: []string{"t"}, Unit: "C", Range: agronomy.Between(-60, 60), Says: "temperature of the air"}
	inRH        = agronomy.Input{Name: "rh", Unit: "%", Range: agronomy.Between(0, 100), Says: "relative humidity at that temperature"}
	inTdew      = agronomy.Input{Name: "tdew", Also: []string{"dew_point", "dewpoint", "t_dew"}, Unit: "C", Range: agronomy.Between(-60, 60), Says: "dew point"}
	inTwet      = agronomy.Input{Name: "twet", Also: []string{"wet_bulb", "t_wet"}, Unit: "C", Range: agronomy.Between(-60, 60), Says: "wet bulb of a psychrometer"}
	inTdry      = agronomy.Input{Name: "tdry", Also: []string{"dry_bulb", "t_dry"}, Unit: "C", Range: agronomy.Between(-60, 60), Says: "dry bulb of a psychrometer"}
	inPsy       = agronomy.Input{Name: "psychrometer_coefficient", Also: []string{"a_psy"}, Unit: "1/C", Range: agronomy.Between(0.0004, 0.002), Says: "0.000662 ventilated, 0.0008 natural, 0.0012 indoors"}
	inRHmax     = agronomy.Input{Name: "rhmax", Also: []string{"rh_max"}, Unit: "%", Range: agronomy.Between(0, 100), Says: "highest relative humidity"}
	inRHmin     = agronomy.Input{Name: "rhmin", Also: []string{"rh_min"}, Unit: "%", Range: agronomy.Between(0, 100), Says: "lowest relative humidity"}
	inRHmean    = agronomy.Input{Name: "rhmean", Also: []string{"rh_mean"}, Unit: "%", Range: agronomy.Between(0, 100), Says: "mean relative humidity"}
	inDryBy     = agronomy.Input{Name: "tmin_minus_tdew", Unit: "delta C", Range: agronomy.Between(0, 10), Says: "in a dry climate, how far the dew point lies below the lowest temperature (2 to 3)"}
	inEa        = agronomy.Input{Name: "ea", Unit: "kPa", Range: agronomy.Between(0, 12), Says: "actual vapour pressure"}
	inEs        = agronomy.Input{Name: "es", Unit: "kPa", Range: agronomy.Between(0, 20), Says: "saturation vapour pressure"}
	inSlope     = agronomy.Input{Name: "slope", Also: []string{"delta"}, Unit: "kPa/C", Range: agronomy.AboveTo(0, 2), Says: "slope of the saturation curve at the mean temperature"}
	inGamma     = agronomy.Input{Name: "psychrometric_constant", Also: []string{"gamma"}, Unit: "kPa/C", Range: agronomy.AboveTo(0, 0.1), Says: "psychrometric constant at the place"}
	inDay       = agronomy.Input{Name: "day_of_year", Also: []string{"doy", "j", "J"}, Unit: "day", Or: []string{"count", "ratio"}, Range: agronomy.Between(1, 366), Says: "day of the year, 1 January is 1"}
	inDate      = agronomy.Input{Name: "date", Kind: agronomy.Text, Says: "date as YYYY-MM-DD"}
	inLatitude  = agronomy.Input{Name: "latitude", Also: []string{"lat"}, Unit: "deg", Range: agronomy.Between(-90, 90), Says: "latitude, north positive"}
	inRa        = agronomy.Input{Name: "ra", Unit: "MJ/m2/day", Or: []string{"mm/day"}, Range: agronomy.Between(0, 60), Says: "radiation above the air"}
	inHours     = agronomy.Input{Name: "daylight_hours", Also: []string{"N"}, Unit: "h", Or: []string{"h/day"}, Range: agronomy.AboveTo(0, 24), Says: "longest possible sunshine"}
	inSunshine  = agronomy.Input{Name: "sunshine", Also: []string{"n", "sunshine_hours"}, Unit: "h", Or: []string{"h/day"}, Range: agronomy.Between(0, 24), Says: "hours of sunshine"}
	inAs        = agronomy.Input{Name: "as", Unit: "fraction", Range: agronomy.Between(0, 1), Says: "share that arrives on overcast days (0.25)"}
	inBs        = agronomy.Input{Name: "bs", Unit: "fraction", Range: agronomy.Between(0, 1), Says: "further share on clear days (0.50)"}
	inKrs       = agronomy.Input{Name: "krs", Unit: "1/C^0.5", Or: []string{"ratio"}, Range: agronomy.Between(0.1, 0.25), Says: "0.16 inland, 0.19 at a coast"}
	inPlace     = agronomy.Input{Name: "place", Also: []string{"location"}, Kind: agronomy.Text, OneOf: []string{"inland", "coast"}, Says: "where the station is"}
	inRs        = agronomy.Input{Name: "rs", Also: []string{"solar_radiation"}, Unit: "MJ/m2/day", Or: []string{"mm/day"}, Range: agronomy.Between(0, 50), Says: "solar radiation at the ground"}
	inRso       = agronomy.Input{Name: "rso", Unit: "MJ/m2/day", Range: agronomy.Between(0, 55), Says: "solar radiation under a clear sky"}
	inAlbedo    = agronomy.Input{Name: "albedo", Unit: "fraction", Range: agronomy.Between(0, 1), Says: "share the surface throws back (0.23)"}
	inRns       = agronomy.Input{Name: "rns", Unit: "MJ/m2/day", Range: agronomy.Between(-20, 50), Says: "net shortwave radiation"}
	inRnl       = agronomy.Input{Name: "rnl", Unit: "MJ/m2/day", Range: agronomy.Between(-20, 50), Says: "net outgoing longwave radiation"}
	inRn        = agronomy.Input{Name: "rn", Unit: "MJ/m2/day", Range: agronomy.Between(-20, 50), Says: "net radiation"}
	inPrevMonth = agronomy.Input{Name: "t_prev_month", Also: []string{"t_previous_month"}, Unit: "C", Range: agronomy.Between(-60, 60), Says: "mean temperature of the month before"}
	inThisMonth = agronomy.Input{Name: "t_month", Also: []string{"t_this_month", "t_current_month"}, Unit: "C", Range: agronomy.Between(-60, 60), Says: "mean temperature of this month"}
	inNextMonth = agronomy.Input{Name: "t_next_month", Unit: "C", Range: agronomy.Between(-60, 60), Says: "mean temperature of the month after"}
	inG         = agronomy.Input{Name: "soil_heat_flux", Also: []string{"g", "G"}, Unit: "MJ/m2/day", Range: agronomy.Between(-20, 20), Says: "heat into the soil (0 for a day)"}
	inWind      = agronomy.Input{Name: "wind", Unit: "m/s", Range: agronomy.Between(0, 60), Says: "mean wind"}
	inHeight    = agronomy.Input{Name: "height", Also: []string{"wind_height"}, Unit: "m", Range: agronomy.Between(0.5, 200), Says: "height of the wind gauge"}
	inWind2     = agronomy.Input{Name: "wind_2m", Also: []string{"u2"}, Unit: "m/s", Range: agronomy.Between(0, 60), Says: "mean wind at 2 m"}
	inWind10    = agronomy.Input{Name: "wind_10m", Also: []string{"u10"}, Unit: "m/s", Range: agronomy.Between(0, 60), Says: "mean wind at 10 m"}
)

// given says whether an optional quantity is there.
func given(q agronomy.Quantity) bool { return q.Unit != "" }

-- What a probe in the ground measured, the day's mean.
ALTER TABLE weather ADD COLUMN soil_c REAL;

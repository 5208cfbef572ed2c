# Dead in cold water: it swims in the tub of 22 degC and hangs dead in the lake at 6 degC.
simsoft run dead_in_cold_water.toml --quiet
# answers: brief: NO-GO
# answers: 1\.5 \(1\.3 to 1\.8\) times that at 22
simsoft pick dead_in_cold_water.toml --samples 16 --quiet --out pick
# answers: durometer 60 OO -> 4\d OO \(recipe, now\), the least change
# lacks: sixteen samples leave 88 % open from 64 to 97 %; more take minutes

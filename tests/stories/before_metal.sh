# Before metal: the resin prototype swims. Cut aluminium now, or one more loop?
simsoft tolerance before_metal.toml --samples 32 --quiet --out kept
# answers: the brief is met by \d\d % \(\d\d to \d\d %\) of 32 samples
simsoft cad before_metal.toml --samples 16 --quiet --out kept
# answers: Metal now: expected loss
simsoft freeze before_metal.toml --samples 16 --quiet --out kept
# answers: NOT READY for metal
# lacks: sixteen samples leave 75 % open from 51 to 90 %; tolerance with twice as many says the same

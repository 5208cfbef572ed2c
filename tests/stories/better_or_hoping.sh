# Better or hoping: is a stem of 2.6 mm better than the 2.8 mm in hand, or is that hope?
simsoft run better_or_hoping.toml --set parts.tail.thickness="2.6 mm" --change --quiet
# answers: tail start speed: -1\d % \(-[12]\d to -\d\)
simsoft tolerance better_or_hoping.toml --set parts.tail.thickness="2.6 mm" --samples 32 \
  --quiet --out tolerance
# answers: the brief is met by 100 % \(89 to 100 %\) of 32 samples
# lacks: one bait of each says nothing of the next pour; compare A B weighs their repeated clips

# Claws on the hook: two claws behind an offset hook foul it on the cast. What keeps them off?
simsoft run claws_on_the_hook.toml --quiet
# answers: each claw touches the bend tumbling in the air
# answers: brief: NO-GO
simsoft pick claws_on_the_hook.toml --vary parts.claw.length="16,20 mm" --samples 8 --confirm 0 \
  --quiet --out pick
# answers: length 36 mm -> 16 mm \(one resin loop\), the least change
# lacks: a claw of more than half its length that keeps off

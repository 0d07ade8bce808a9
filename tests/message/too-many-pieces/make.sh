# A cycle of 7,000 moves, each in three pieces.
{
    echo 'form lift { given motion : cycle of length  let top : velocity = peak(motion.speed) }'
    echo 'cycle exchange {'
    yes '  move 1 mm in 1 s  move -1 mm in 1 s' | head -n 3500
    echo '}'
    echo 'lift tray { motion = exchange }'
} >wrong.trn

# A long cycle, its times without a space before the unit.
{
    echo "cycle exchange {"
    echo "  move 320 mm in 1.4 s"
    i=1
    while [ $i -le 120 ]; do
        echo "  hold 2s"
        i=$((i + 1))
    done
    echo '}'
} >wrong.trn

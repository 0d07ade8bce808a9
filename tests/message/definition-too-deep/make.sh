# Jars, each a gram heavier than the next, 900 of them; the heaviest comes first.
{
    i=900
    while [ $i -ge 1 ]; do
        echo "jar jar-$i { mass = jar-$((i - 1)).mass + 1 g }"
        i=$((i - 1))
    done
    echo 'jar jar-0 { mass = 1 g }'
    echo 'form jar { given mass : mass }'
} >wrong.trn

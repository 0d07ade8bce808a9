# A value in 300 parentheses, a form in 300 forms, and a sum of 300 parts.
many() { printf '%0300d' 0 | sed "s/0/$1/g"; }
echo "form jar { given width : length  let twice : length = $(many '(')width$(many ')') }" >wrong.trn
echo "form jar { given mass : mass  maybe inner : jar }" >wrong-forms.trn
echo "jar outer { mass = 1 kg  $(many 'inner = jar { mass = 1 kg  ') $(many '} ') }" >>wrong-forms.trn
echo "form jar { given width : length  let twice : length = $(many '- ')width }" >wrong-signs.trn

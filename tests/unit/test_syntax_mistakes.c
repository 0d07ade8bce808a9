/* What the reader says about texts that are wrong, to the letter. Each has one mistake, unless it says otherwise, and gets
 * one message. */
#include "given_syntax.h"

typedef struct Mistake {
    const char *what, *text, *said;
} Mistake;

static const Mistake mistakes[] = {
    {"empty",
     "",
     "a.trn: error: there is no program text in this file (no-program)\n"},
    {"only_a_comment",
     "-- nothing yet\n",
     "a.trn: error: there is no program text in this file (no-program)\n"},
    {"brace_open_at_the_end",
     "axis lift {\n"
     "  motor = 5 mm\n",
     "a.trn:1.11-1.11: error: the '{' of axis lift is not closed before the end of the file, line 3 (brace-not-closed)\n"
     "    axis lift «{»\n"
     "  Close it with a '}'.\n"},
    {"brace_open_before_an_item",
     "axis lift {\n"
     "  a = motor {\n"
     "    b = 5 mm\n"
     "axis other {\n"
     "  b = 5 mm\n"
     "}\n",
     "a.trn:2.13-2.13: error: the '{' of motor is not closed before 'axis', line 4 (brace-not-closed)\n"
     "    a = motor «{»\n"
     "  Close it with a '}'.\n"},
    {"brace_open_before_a_word",
     "form a {\n"
     "  given x : torque\n"
     "requirement b \"c\" { shall d }\n",
     "a.trn:1.8-1.8: error: the '{' of form a is not closed before 'requirement', line 3 (brace-not-closed)\n"
     "    form a «{»\n"
     "  Close it with a '}'.\n"},
    {"brace_too_many",
     "}\n"
     "axis lift { a = 5 mm }\n"
     "}\n",
     "a.trn:1.1-1.1: error: this '}' closes nothing (brace-too-many)\n"
     "    «}»\n"
     "  Remove it, or look above for a '{' that is missing.\n"
     "a.trn:3.1-3.1: error: this '}' closes nothing (brace-too-many)\n"
     "    «}»\n"
     "  Remove it, or look above for a '{' that is missing.\n"},
    {"brace_missing",
     "axis lift\n"
     "  a = 5 mm\n"
     "}\n",
     "a.trn:1.6-1.9: error: axis lift has no '{' (brace-missing)\n"
     "    axis «lift»\n"
     "  Right would be: axis lift { … }\n"},
    {"brace_missing_of_an_empty_item",
     "requirement A \"x\"\n"
     "requirement B \"y\" {\n"
     "  shall a\n"
     "}\n",
     "a.trn:1.13-1.13: error: requirement A has no '{' (brace-missing)\n"
     "    requirement «A» \"x\"\n"
     "  Right would be: requirement A { … }\n"},
    {"head_has_too_much",
     "axis lift motor {\n"
     "  a = 5 mm\n"
     "}\n",
     "a.trn:1.11-1.15: error: '{' is due after 'lift', and this is 'motor' (unexpected)\n"
     "    axis lift «motor» {\n"
     "  A title stands in double quotes.\n"},
    {"text_open",
     "axis lift {\n"
     "  a = \"open\n"
     "  b = 5 mm\n"
     "}\n",
     "a.trn:2.7-2.11: error: this text has no closing quote on its line (text-not-closed)\n"
     "    a = «\"open»\n"
     "  A text stands on one line; texts that follow one another are joined.\n"},
    {"text_open_before_a_brace",
     "form a \"open {\n"
     "  given x : torque\n"
     "}\n",
     "a.trn:1.8-1.14: error: this text has no closing quote on its line (text-not-closed)\n"
     "    form a «\"open {»\n"
     "  A text stands on one line; texts that follow one another are joined.\n"},
    {"text_with_a_backslash",
     "use \"parts\\motors.trn\"\n",
     "a.trn:1.11-1.11: error: in a text, a backslash stands only before a quote or another backslash (text-backslash)\n"
     "    use \"parts«\\»motors.trn\"\n"
     "  Right would be \\\\ for a backslash, \\\" for a quote.\n"},
    {"value_missing_at_a_brace",
     "axis lift {\n"
     "  a = }\n",
     "a.trn:2.5-2.5: error: no value follows '=' (value-missing)\n"
     "    a «=» }\n"
     "  Write the value behind it.\n"},
    {"value_missing_before_a_field",
     "axis lift {\n"
     "  a =\n"
     "  b = 5 mm\n"
     "}\n",
     "a.trn:2.5-2.5: error: no value follows '=' (value-missing)\n"
     "    a «=»\n"
     "  Write the value behind it.\n"},
    {"value_missing_after_an_operator",
     "axis lift {\n"
     "  a = b +\n"
     "  c = 5 mm\n"
     "}\n",
     "a.trn:2.9-2.9: error: no value follows '+' (value-missing)\n"
     "    a = b «+»\n"
     "  Write the value behind it.\n"},
    {"condition_missing",
     "requirement A \"x\" {\n"
     "  shall\n"
     "  from URS §1\n"
     "}\n",
     "a.trn:2.3-2.7: error: no condition follows 'shall' (value-missing)\n"
     "    «shall»\n"
     "  Write the condition behind it.\n"},
    {"value_missing_in_a_condition",
     "requirement A \"x\" {\n"
     "  shall a <=\n"
     "  because \"b\"\n"
     "}\n",
     "a.trn:2.11-2.12: error: no value follows '<=' (value-missing)\n"
     "    shall a «<=»\n"
     "  Write the value behind it.\n"},
    {"formula_missing",
     "form a {\n"
     "  let x : torque =\n"
     "  let y : torque = x\n"
     "}\n",
     "a.trn:2.18-2.18: error: no value follows '=' (value-missing)\n"
     "    let x : torque «=»\n"
     "  Write the value behind it.\n"},
    {"duration_missing",
     "cycle c {\n"
     "  move 320 mm in by cycloidal\n"
     "}\n",
     "a.trn:2.15-2.16: error: no value follows 'in' (value-missing)\n"
     "    move 320 mm «in» by cycloidal\n"
     "  Write the value behind it.\n"},
    {"equals_missing",
     "axis lift {\n"
     "  a 5 mm\n"
     "}\n",
     "a.trn:2.5-2.8: error: '=' is due after 'a', and this is '5 mm' (unexpected)\n"
     "    a «5 mm»\n"},
    {"colon_for_equals",
     "axis lift {\n"
     "  a : 5 mm\n"
     "}\n",
     "a.trn:2.5-2.5: error: '=' is due after 'a', and this is ':' (unexpected)\n"
     "    a «:» 5 mm\n"
     "  Right would be: name = value.\n"},
    {"colon_missing",
     "form a {\n"
     "  given x torque\n"
     "}\n",
     "a.trn:2.11-2.16: error: ':' is due after 'x', and this is 'torque' (unexpected)\n"
     "    given x «torque»\n"},
    {"type_missing",
     "form a {\n"
     "  given x :\n"
     "}\n",
     "a.trn:2.11-2.11: error: no type follows ':' (value-missing)\n"
     "    given x «:»\n"
     "  Write the type behind it.\n"},
    {"two_values",
     "axis lift {\n"
     "  a = 5 mm 3\n"
     "}\n",
     "a.trn:2.12-2.12: error: an operator or a new line is due after '5 mm', and this is '3' (unexpected)\n"
     "    a = 5 mm «3»\n"},
    {"semicolon",
     "axis lift {\n"
     "  a = 5 mm;\n"
     "}\n",
     "a.trn:2.11-2.11: error: an operator or a new line is due after '5 mm', and this is ';' (unexpected)\n"
     "    a = 5 mm«;»\n"
     "  A new line stands between two fields; no sign is needed.\n"},
    {"statement_in_a_form",
     "form a {\n"
     "  x = 5 mm\n"
     "}\n",
     "a.trn:2.3-2.3: error: given, maybe, let, rule, caution or '}' is due after '{', and this is 'x' (unexpected)\n"
     "    «x» = 5 mm\n"},
    {"parenthesis_open",
     "axis lift {\n"
     "  x = (a + b\n"
     "  y = 5 mm\n"
     "}\n",
     "a.trn:3.3-3.3: error: ')' is due after 'b', and this is 'y' (unexpected)\n"
     "    «y» = 5 mm\n"},
    {"comma_missing",
     "axis lift {\n"
     "  y = f(a b)\n"
     "}\n",
     "a.trn:2.11-2.11: error: ')' or ',' is due after 'a', and this is 'b' (unexpected)\n"
     "    y = f(a «b»)\n"},
    {"else_missing",
     "axis lift {\n"
     "  z = if a then b\n"
     "}\n",
     "a.trn:3.1-3.1: error: 'else' is due after 'b', and this is '}' (unexpected)\n"
     "    «}»\n"},
    {"tolerance_of_a_name",
     "axis lift {\n"
     "  r = a ± 5 %\n"
     "}\n",
     "a.trn:2.9-2.9: error: an operator or a new line is due after 'a', and this is '±' (unexpected)\n"
     "    r = a «±» 5 %\n"
     "  A tolerance stands between two numbers: 8.2 Ω ± 8 %.\n"},
    {"stray",
     "axis lift {\n"
     "  b = @ mm\n"
     "}\n",
     "a.trn:2.7-2.7: error: '@' means nothing here (stray-character)\n"
     "    b = «@» mm\n"},
    {"stray_hash",
     "# a comment\n"
     "axis lift { a = 5 mm }\n",
     "a.trn:1.1-1.1: error: '#' means nothing here (stray-character)\n"
     "    «#» a comment\n"
     "  A comment begins with --.\n"},
    {"stray_quote",
     "axis lift {\n"
     "  t = 'x'\n"
     "}\n",
     "a.trn:2.7-2.7: error: ''' means nothing here (stray-character)\n"
     "    t = «'»x'\n"
     "  A text stands in double quotes.\n"},
    {"stray_brackets",
     "axis lift {\n"
     "  t = [a, b]\n"
     "}\n",
     "a.trn:2.7-2.7: error: '[' means nothing here (stray-character)\n"
     "    t = «[»a, b]\n"
     "  Braces are { and }; a list is written with commas alone: a, b, c.\n"},
    {"number_too_large",
     "axis lift {\n"
     "  a = 1e400 mm\n"
     "}\n",
     "a.trn:2.7-2.11: error: 1e400 is too large a number (number-too-large)\n"
     "    a = «1e400» mm\n"
     "  The largest is about 1.8e308.\n"},
    {"number_too_small",
     "axis lift {\n"
     "  a = 1e-400 mm\n"
     "}\n",
     "a.trn:2.7-2.12: error: 1e-400 is too small to be told from zero (number-too-small)\n"
     "    a = «1e-400» mm\n"
     "  The smallest is about 4.9e-324.\n"},
    {"decimal_comma",
     "axis lift {\n"
     "  a = 0,5 mm\n"
     "}\n",
     "a.trn:2.7-2.9: error: a number has a decimal point, not a comma (decimal-comma)\n"
     "    a = «0,5» mm\n"
     "  Right would be 0.5, or in a list 0, 5.\n"},
    {"unit_without_space",
     "axis lift {\n"
     "  a = 5mm\n"
     "}\n",
     "a.trn:2.7-2.9: error: there is no space between 5 and mm (unit-space)\n"
     "    a = «5mm»\n"
     "  Right would be 5 mm.\n"},
    {"number_without_digit",
     "axis lift {\n"
     "  a = .5 mm\n"
     "}\n",
     "a.trn:2.7-2.8: error: a decimal point stands once in a number, between digits (number-point)\n"
     "    a = «.5» mm\n"
     "  Right would be 0.5, or 5, or 1.25; a clause is written §1.2.5.\n"},
    {"number_with_two_points",
     "axis lift {\n"
     "  a = 1.2.3\n"
     "}\n",
     "a.trn:2.7-2.11: error: a decimal point stands once in a number, between digits (number-point)\n"
     "    a = «1.2.3»\n"
     "  Right would be 0.5, or 5, or 1.25; a clause is written §1.2.5.\n"},
    {"operator_without_space",
     "axis lift {\n"
     "  a = x -4\n"
     "}\n",
     "a.trn:2.9-2.9: error: between two values, - has a space on both sides (operator-space)\n"
     "    a = x «-»4\n"
     "  Right would be: a - b. A tolerance is written ± 8 % or +5/-10 %.\n"},
    {"product_without_spaces",
     "axis lift {\n"
     "  a = x·y\n"
     "}\n",
     "a.trn:2.8-2.8: error: between two values, · has a space on both sides (operator-space)\n"
     "    a = x«·»y\n"
     "  Right would be: a · b.\n"},
    {"quotient_without_spaces",
     "axis lift {\n"
     "  a = x/y\n"
     "}\n",
     "a.trn:2.8-2.8: error: between two values, / has a space on both sides (operator-space)\n"
     "    a = x«/»y\n"
     "  Right would be: a / b.\n"},
    {"tolerance_turned",
     "axis lift {\n"
     "  a = 24 V -10/+5 %\n"
     "}\n",
     "a.trn:2.12-2.19: error: the upper side of a tolerance comes first (tolerance-order)\n"
     "    a = 24 V «-10/+5 %»\n"
     "  Right would be +5/-10.\n"},
    {"equal_twice",
     "requirement A \"x\" {\n"
     "  shall a == b\n"
     "}\n",
     "a.trn:2.11-2.12: error: equality is written with one '=' (equal-twice)\n"
     "    shall a «==» b\n"
     "  Right would be: a = b.\n"},
    {"comparison_chain",
     "requirement A \"x\" {\n"
     "  shall a <= b >= c\n"
     "}\n",
     "a.trn:2.16-2.17: error: three values are compared only as in a <= x <= b, with < or <= (comparison-chain)\n"
     "    shall a <= b «>=» c\n"
     "  Turn it round, or join two comparisons by and.\n"},
    {"name_with_a_power",
     "axis lift {\n"
     "  a = x²\n"
     "}\n",
     "a.trn:2.7-2.8: error: '²' in the name x² is not a letter (name-character)\n"
     "    a = «x²»\n"
     "  A power is written x ^ 2.\n"},
    {"name_with_a_quote",
     "axis lift {\n"
     "  a = “text”\n"
     "}\n",
     "a.trn:2.7-2.7: error: '“' means nothing here (stray-character)\n"
     "    a = «“»text”\n"
     "  A text stands in straight double quotes: \"…\".\n"},
    {"name_with_a_space_that_does_not_break",
     "axis lift {\n"
     "  a = 5 mm\n"
     "}\n",
     "a.trn:2.3-2.4: error: 'U+00A0' in the name a  is not a letter (name-character)\n"
     "    «a »= 5 mm\n"
     "  Use an ordinary space; this one does not break a line.\n"},
    {"name_begins_with_a_line",
     "axis lift {\n"
     "  _a = 5 mm\n"
     "}\n",
     "a.trn:2.3-2.4: error: _a does not begin with a letter (name-start)\n"
     "    «_a» = 5 mm\n"
     "  A name begins with a letter, and goes on with letters, digits, _ and inner hyphens.\n"},
    {"reserved",
     "form a {\n"
     "  let if : torque = b\n"
     "}\n",
     "a.trn:2.7-2.8: error: 'if' is a word of the language, and cannot be a name (reserved-word)\n"
     "    let «if» : torque = b\n"
     "  Choose another name.\n"},
    {"reserved_field",
     "axis lift {\n"
     "  in = 5 mm\n"
     "}\n",
     "a.trn:2.3-2.4: error: 'in' is a word of the language, and cannot be a name (reserved-word)\n"
     "    «in» = 5 mm\n"
     "  Choose another name.\n"},
    {"misspelt_item",
     "requirment LIFT-4 \"The tray\" {\n"
     "  shall a <= b\n"
     "}\n",
     "a.trn:1.1-1.10: error: 'requirment' is not a word of the language (misspelt-word)\n"
     "    «requirment» LIFT-4 \"The tray\" {\n"
     "  Did you mean requirement?\n"},
    {"misspelt_choice",
     "chioce lid { shut \"a\" ajar \"b\" }\n",
     "a.trn:1.1-1.6: error: 'chioce' is not a word of the language (misspelt-word)\n"
     "    «chioce» lid { shut \"a\" ajar \"b\" }\n"
     "  Did you mean choice?\n"},
    {"misspelt_unit",
     "unti bar \"bar\" = 100000 Pa\n",
     "a.trn:1.1-1.4: error: 'unti' is not a word of the language (misspelt-word)\n"
     "    «unti» bar \"bar\" = 100000 Pa\n"
     "  Did you mean unit?\n"},
    {"misspelt_clause",
     "requirement LIFT-4 \"The tray\" {\n"
     "  shal a <= b\n"
     "}\n",
     "a.trn:2.3-2.6: error: 'shal' is not a word of the language (misspelt-word)\n"
     "    «shal» a <= b\n"
     "  Did you mean shall?\n"},
    {"misspelt_member",
     "form a {\n"
     "  gvien x : torque in mN·m\n"
     "  given y : torque witin 3 %\n"
     "}\n",
     "a.trn:2.3-2.7: error: 'gvien' is not a word of the language (misspelt-word)\n"
     "    «gvien» x : torque in mN·m\n"
     "  Did you mean given?\n"
     "a.trn:3.20-3.24: error: 'witin' is not a word of the language (misspelt-word)\n"
     "    given y : torque «witin» 3 %\n"
     "  Did you mean within?\n"},
    {"capital",
     "Requirement A \"x\" { Shall a }\n",
     "a.trn:1.1-1.11: error: 'Requirement' is not a word of the language (misspelt-word)\n"
     "    «Requirement» A \"x\" { Shall a }\n"
     "  Did you mean requirement?\n"
     "a.trn:1.21-1.25: error: 'Shall' is not a word of the language (misspelt-word)\n"
     "    Requirement A \"x\" { «Shall» a }\n"
     "  Did you mean shall?\n"},
    {"clause_without_sign",
     "requirement A \"x\" {\n"
     "  from URS 1\n"
     "}\n",
     "a.trn:2.12-2.12: error: a clause such as §4.1 is due after 'URS', and this is '1' (unexpected)\n"
     "    from URS «1»\n"},
    {"section_without_number",
     "source URS \"x\" {\n"
     "  § \"text\"\n"
     "}\n",
     "a.trn:2.3-2.3: error: § stands without the number of a clause (clause-missing)\n"
     "    «§» \"text\"\n"
     "  Right would be §4.1.\n"},
    {"out_missing",
     "source URS \"x\" {\n"
     "  §1 \"text\" left \"why\"\n"
     "}\n",
     "a.trn:2.18-2.22: error: 'out' is due after 'left', and this is \"why\" (unexpected)\n"
     "    §1 \"text\" left «\"why\"»\n"},
    {"table_empty",
     "axis lift {\n"
     "  t = table { }\n"
     "}\n",
     "a.trn:2.15-2.15: error: a value is due after '{', and this is '}' (unexpected)\n"
     "    t = table { «}»\n"},
    {"row_without_colon",
     "axis lift {\n"
     "  t = table { 5 mm: 3; x 5; 4 mm: 1 }\n"
     "}\n",
     "a.trn:2.26-2.26: error: ':' is due after 'x', and this is '5' (unexpected)\n"
     "    t = table { 5 mm: 3; x «5»; 4 mm: 1 }\n"},
    {"table_without_brace",
     "axis lift {\n"
     "  t = table 5\n"
     "}\n",
     "a.trn:2.13-2.13: error: '{' is due after 'table', and this is '5' (unexpected)\n"
     "    t = table «5»\n"},
    {"use_without_quotes",
     "use house.trn\n",
     "a.trn:1.5-1.9: error: a text in double quotes is due after 'use', and this is 'house' (unexpected)\n"
     "    use «house».trn\n"},
    {"kind_without_in",
     "kind torque \"x\" N·m\n",
     "a.trn:1.17-1.17: error: 'in' is due after \"x\", and this is 'N' (unexpected)\n"
     "    kind torque \"x\" «N»·m\n"},
    {"unit_without_size",
     "unit bar \"bar\"\n",
     "a.trn:2.1-2.1: error: '=' or 'base' is due after \"bar\", and this is the end of the file (unexpected)\n"
     "    «»\n"},
    {"item",
     "5 mm\n",
     "a.trn:1.1-1.4: error: an item is due here, and this is '5 mm' (unexpected)\n"
     "    «5 mm»\n"
     "  An item begins with use, unit, prefix, kind, choice, form, cycle, source or requirement, or with the name of a form.\n"},
    {"word_of_a_choice",
     "choice lid { shut \"a\" 5 }\n",
     "a.trn:1.23-1.23: error: a word of the choice or '}' is due after \"a\", and this is '5' (unexpected)\n"
     "    choice lid { shut \"a\" «5» }\n"},
    {"segment",
     "cycle c {\n"
     "  5 mm in 3 s\n"
     "}\n",
     "a.trn:2.3-2.6: error: move, hold, run or '}' is due after '{', and this is '5 mm' (unexpected)\n"
     "    «5 mm» in 3 s\n"},
    {"two_mistakes",
     "axis lift {\n"
     "  a = @\n"
     "  b = 5 mm mm\n"
     "  c : 5\n"
     "}\n",
     "a.trn:2.7-2.7: error: '@' means nothing here (stray-character)\n"
     "    a = «@»\n"
     "a.trn:3.12-3.13: error: an operator or a new line is due after '5 mm', and this is 'mm' (unexpected)\n"
     "    b = 5 mm «mm»\n"
     "a.trn:4.5-4.5: error: '=' is due after 'c', and this is ':' (unexpected)\n"
     "    c «:» 5\n"
     "  Right would be: name = value.\n"},
};

Test(syntax_mistakes, get_one_message_each)
{
    for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++) {
        GivenText given = given_text(mistakes[i].text);
        given_read(&given);
        Text said = messages_render(given.arena, given.messages);
        cr_expect(text_is(said, mistakes[i].said), "%s: is\n%.*s\nnot\n%s", mistakes[i].what, (int)said.length, said.at,
                  mistakes[i].said);
        given_end(&given);
    }
}

/* A mistake in one declaration leaves all others as they would be without it. */
Test(syntax_mistakes, do_not_reach_beyond_their_declaration)
{
    for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++) {
        GivenText alone = given_text("cycle last { hold 1 s }\n");
        given_read(&alone);
        TextBuilder both = text_builder(alone.arena);
        text_add_string(&both, mistakes[i].text);
        text_add_string(&both, "cycle last { hold 1 s }\n");
        Text text = text_built(&both);
        GivenText given = given_bytes("a.trn", text.at, text.length);
        given_read(&given);
        Text dump = given_dump(&given);
        cr_expect(text_ends(dump, given_dump(&alone)), "%s: the next item is not read\n%.*s", mistakes[i].what, (int)dump.length,
                  dump.at);
        given_end(&given);
        given_end(&alone);
    }
}

#pragma once
// Private to report: the look and the skeleton of index.html. {{x}} is escaped by the template library.

namespace slipglass {

inline constexpr const char* kPageStyle = R"css(
:root {
  color-scheme: light dark;
  --back: #e9efec; --card: #ffffff; --ink: #16241f; --soft: #4a5b54; --line: #c3d0ca; --link: #0b5a66;
  --today: #8c1616; --today-back: #fbe3df; --soon: #6b4300; --soon-back: #fdeecb; --note: #23496b; --note-back: #e1ebf5;
  --fine: #23592f; --medium: #7d5a3c; --water: #2b8196;
}
@media (prefers-color-scheme: dark) {
  :root {
    --back: #101714; --card: #1a2420; --ink: #e8efeb; --soft: #a9bab2; --line: #35453e; --link: #7fd0dc;
    --today: #ffb4a8; --today-back: #4a1a15; --soon: #ffd88a; --soon-back: #402d06; --note: #b5d4f2; --note-back: #1b3047;
    --fine: #9fd8a9;
  }
}
* { box-sizing: border-box; }
body { margin: 0; background: var(--back); color: var(--ink); font: 1.15rem/1.5 system-ui, sans-serif;
       overflow-wrap: anywhere; }
a { color: var(--link); }
a:focus-visible, summary:focus-visible { outline: 3px solid var(--link); outline-offset: 3px; }
header, main, footer { max-width: 84rem; margin: 0 auto; padding: 1rem; }
.band { height: .9rem; background: linear-gradient(var(--medium) 0 60%, var(--water) 60% 100%); }
h1 { font-size: 2.1rem; line-height: 1.15; margin: .3rem 0; }
h2 { font-size: 1.6rem; margin: 1.4rem 0 .8rem; }
h3 { font-size: 1.7rem; line-height: 1.15; margin: 0; }
h4 { font-size: 1.15rem; margin: 0; }
p { margin: .3rem 0; max-width: 46rem; }
nav ul { list-style: none; padding: 0; margin: .8rem 0 0; display: flex; flex-wrap: wrap; gap: .6rem; }
nav a { display: block; padding: .6rem .9rem; background: var(--card); border: 1px solid var(--line); border-radius: .4rem; }
.soft { color: var(--soft); font-size: 1rem; }
.doing { list-style: none; padding: 0; margin: 0; display: grid; gap: .8rem;
         grid-template-columns: repeat(auto-fill, minmax(min(100%, 26rem), 1fr)); }
.doing li { padding: .9rem 1rem; border-radius: .4rem; border-style: solid; border-width: 0 0 0 .6rem; }
.act-today { background: var(--today-back); border-color: var(--today); }
.look-soon { background: var(--soon-back); border-color: var(--soon); }
.note { background: var(--note-back); border-color: var(--note); }
.act-today .call { color: var(--today); } .look-soon .call { color: var(--soon); } .note .call { color: var(--note); }
.doing .tub { font-size: 1.7rem; font-weight: 700; line-height: 1.2; display: inline-block; padding: .2rem .4rem .2rem 0; }
.call { font-weight: 700; display: inline-block; }
.call::first-letter, .evidence::first-letter { text-transform: uppercase; }
time { white-space: nowrap; }
.tubs { display: grid; gap: 1.2rem; align-items: start; grid-template-columns: repeat(auto-fill, minmax(min(100%, 24rem), 1fr)); }
article { background: var(--card); border: 1px solid var(--line); border-radius: .4rem; padding: 1rem; min-width: 0; }
figure { margin: .7rem 0; }
figure img { display: block; width: 100%; max-height: 30rem; object-fit: contain; background: #0006; border-radius: .3rem; }
.nothing { padding: 2.5rem 1rem; text-align: center; border: 2px dashed var(--line); border-radius: .3rem; }
dl { display: grid; grid-template-columns: repeat(auto-fill, minmax(9.5rem, 1fr)); gap: .6rem 1rem; margin: .7rem 0; }
dt { color: var(--soft); font-size: 1rem; }
dd { margin: 0; font-size: 1.3rem; font-weight: 650; line-height: 1.3; }
dd small { display: block; font-size: .95rem; font-weight: 400; color: var(--soft); }
.chips { list-style: none; padding: 0; margin: .5rem 0; display: grid; gap: .4rem; }
.chips li { padding: .3rem .6rem; border-radius: .3rem; border-style: solid; border-width: 0 0 0 .4rem; }
.chips .gone { border-color: var(--line); color: var(--soft); }
.cutting { border-top: 1px solid var(--line); padding-top: .7rem; margin-top: .9rem; }
summary { padding: .7rem 0; cursor: pointer; color: var(--link); font-weight: 650; }
details img { display: block; width: 100%; max-width: 36rem; background: #fff; border-radius: .3rem; }
.list { list-style: none; padding: 0; margin: 0; display: grid; gap: .6rem; }
.list li { background: var(--card); border: 1px solid var(--line); border-radius: .4rem; padding: .7rem 1rem; }
footer { border-top: 1px solid var(--line); margin-top: 2rem; padding-bottom: 3rem; }
)css";

inline constexpr const char* kPageTemplate = R"html(<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src 'self'; style-src '{{{style_hash}}}'; base-uri 'none'; form-action 'none'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Rooting season</title>
<style>{{{style}}}</style>
</head>
<body>
<div class="band"></div>
<header>
<h1>Rooting season</h1>
<p>{{headline}}</p>
<nav aria-label="On this page"><ul>
<li><a href="#doing">What needs doing</a></li>
<li><a href="#tubs">Tubs</a></li>
<li><a href="#problems">Problems ({{problem_count}})</a></li>
<li><a href="#cautions">Cautions</a></li>
</ul></nav>
</header>
<main>
<section id="doing" aria-labelledby="doing-title">
<h2 id="doing-title">What needs doing</h2>
{{^doing}}<p>Nothing: no flag holds on the latest photos.</p>{{/doing}}
<ol class="doing">
{{#doing}}<li class="{{severity_class}}">
<a class="tub" href="#{{anchor}}">{{tub}}</a> {{cuttings}}
<div><span class="call">{{severity}}: {{name}}</span> <span class="soft">since <time>{{date}}</time></span></div>
<p class="evidence">{{evidence}}.</p>
<p>{{advice}}</p>
</li>
{{/doing}}
</ol>
</section>
<section id="tubs" aria-labelledby="tubs-title">
<h2 id="tubs-title">Tubs</h2>
<div class="tubs">
{{#tubs}}<article id="{{anchor}}" aria-labelledby="{{anchor}}-title">
<h3 id="{{anchor}}-title">{{tub}}</h3>
<p class="soft">{{about}}</p>
<figure>
{{#picture}}<img src="../{{src}}" alt="{{alt}}" loading="lazy"><figcaption class="soft">{{caption}}</figcaption>{{/picture}}
{{^picture}}<div class="nothing">{{no_picture}}</div>{{/picture}}
</figure>
<ul class="chips">
{{#flags}}<li class="{{severity_class}}"><span class="call">{{severity}}: {{name}}</span> since <time>{{date}}</time></li>
{{/flags}}{{#gone}}<li class="gone">{{name}} from <time>{{date}}</time>, over on <time>{{cleared}}</time></li>
{{/gone}}</ul>
<dl>
{{#figures}}<div><dt>{{what}}</dt><dd>{{value}} <small>{{more}}</small></dd></div>
{{/figures}}</dl>
{{#shared}}<p class="soft">{{shared}}</p>{{/shared}}
{{#cuttings}}<div class="cutting">
<h4>{{id}}</h4>
<p>{{about}}</p>
<p>{{strike}}</p>
<details><summary>Growth over time</summary>
<img src="../{{graph}}" alt="{{graph_alt}}" loading="lazy">
<p class="soft">Shaded: 90 % interval. Dashed: at or below this, roots cannot be told from bare medium.</p>
</details>
</div>
{{/cuttings}}
</article>
{{/tubs}}
</div>
</section>
<section id="problems" aria-labelledby="problems-title">
<h2 id="problems-title">Problems</h2>
{{^any_problem}}<p>None: every file was measured.</p>{{/any_problem}}
<ul class="list">
{{#problems}}<li><strong>{{file}}</strong>{{#tub}} (tub {{tub}}){{/tub}}: {{state}}. {{reason}}. <span>{{remedy}}.</span></li>
{{/problems}}{{#warnings}}<li>{{line}}</li>
{{/warnings}}</ul>
</section>
</main>
<footer id="cautions">
<h2>Cautions</h2>
<p>Perlite, vermiculite and dry peat give off dust: wet them first, work outdoors or with fresh air, and do not breathe it.</p>
<p>Rooting hormone: follow its label and wear gloves. The sap of some plants burns skin in sunlight. Knives and secateurs are sharp.</p>
<p>Heat mats and lamps near water: follow their makers and the electrical rules where you live.</p>
<p>Figures come from what can be seen through the wall; roots inside the tub cannot. These pages advise; the grower decides.</p>
</footer>
</body>
</html>
)html";

}  // namespace slipglass
